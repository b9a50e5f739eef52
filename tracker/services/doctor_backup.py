"""The point of `doctor` about backups: when the latest one of this clone was made, and where it lies."""

from tracker.policy.spelled import counted
from tracker.services.doctor_points import Place, Point

_OLD_DAYS = 30


def backups(at: Place) -> Point:
    """How old the latest backup is; advice, since other PCs may make them."""
    last = at.setup.last_backup()
    fix = "proveout backup --to FOLDER, on another disk"
    if last is None:
        says = "no backup was made from this PC"
        return Point(name="backup", state="off", says=says, fix=fix, advice=True)
    days = max(0, (at.desk.clock.now() - last.at).days)
    age = "today" if days == 0 else f"{counted(days, 'day')} ago"
    says = f"last backup: {age}, {last.path}"
    if days > _OLD_DAYS:
        return Point(name="backup", state="off", says=says, fix=fix, advice=True)
    return Point(name="backup", state="on", says=says, advice=True)
