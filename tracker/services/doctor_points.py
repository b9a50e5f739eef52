"""The points `doctor` looks at, one function each: what was found, and how to put it right.

Each may raise what it meets; `tracker.services.doctor` makes "could not tell" of that.
"""

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from tracker import __version__
from tracker.nc import scan
from tracker.nc.identity import RULE_VERSION
from tracker.policy.days import local_date, zone_of
from tracker.policy.find import newest_of
from tracker.policy.may import holders
from tracker.policy.spelled import counted
from tracker.records.events import RevisionRecord
from tracker.records.places import is_below_records
from tracker.services.desk import Desk, whose
from tracker.services.install import DRIVER, MACHINE, SHARED
from tracker.services.last_share import share_words, shop_zone
from tracker.services.path_lint import lint_paths
from tracker.services.ports_setup import LOCAL_HOOK, SERVER_HOOK, SetUp

OLDEST_GIT = (2, 30)
State = Literal["on", "off", "could not tell"]
_ROLES = ("programmer", "setup", "quality")
# a lock younger than this belongs to somebody who works
_STALE_SECONDS = 60
_SHOWN = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One point: its plain name, its state, what was found, how to put it right; ``advice`` does not count."""

    name: str
    state: State
    says: str
    fix: str | None = None
    advice: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """What is looked at: somebody's desk, and how its repository is set up."""

    desk: Desk
    setup: SetUp


def versions(_: Place) -> Point:
    """Which proveout, on which Python."""
    python = ".".join(str(part) for part in sys.version_info[:3])
    return Point(name="version", state="on", says=f"proveout {__version__}, Python {python}")


def git(at: Place) -> Point:
    """Whether git is new enough."""
    version = at.setup.git_version()
    text = ".".join(str(part) for part in version)
    if version < OLDEST_GIT:
        fix = "install git 2.30 or newer (git-scm.com)"
        return Point(name="git", state="off", says=f"git {text} is too old", fix=fix)
    return Point(name="git", state="on", says=f"git {text}")


def scanner(_: Place) -> Point:
    """Which scanner reads programs."""
    if scan.engine() == "compiled":
        return Point(name="scanner", state="on", says="the compiled scanner reads programs")
    return Point(
        name="scanner",
        state="off",
        says="the plain scanner reads programs: the same answers, more slowly",
        fix="install a wheel for this PC, or install again where a C compiler is",
        advice=True,
    )


def history(at: Place) -> Point:
    """Whether the whole history is here."""
    fault = at.setup.history_fault()
    if fault is not None:
        return Point(name="history", state="off", says=fault.what, fix=fault.fix)
    return Point(name="history", state="on", says="the whole history is here")


def hook(at: Place) -> Point:
    """Whether the gate is asked: the hook is there, ours, and can run."""
    name = SERVER_HOOK if at.setup.bare else LOCAL_HOOK
    fix = f"proveout install --server {at.setup.root}" if at.setup.bare else "proveout install"
    place, folder = at.setup.hooks_place()
    if place != "own":
        says = f"core.hooksPath leads git to {folder}, where our hook is not installed"
        return Point(name="hook", state="off", says=says, fix=f"git config --unset core.hooksPath; {fix}")
    seen = at.setup.hook(name)
    found: dict[str, str] = {
        "none": "no hook asks the gate",
        "old": "the hook is of another version, or of a Python that was moved",
        "other": "another program's hook lies in the place of ours",
    }
    if seen.state != "ours":
        return Point(name="hook", state="off", says=f"{found[seen.state]} ({seen.path})", fix=fix)
    if not seen.runs:
        says = f"the hook lost its right to run, so git passes it over in silence ({seen.path})"
        return Point(name="hook", state="off", says=says, fix=fix)
    kept = "; the one that was there before still runs" if seen.kept else ""
    return Point(name="hook", state="on", says=f"{name} asks the gate{kept}")


def receive_journal(at: Place) -> Point:
    """Whether a server's journal of pushes holds together, and agrees with the references as they are."""
    lines, faults = at.setup.receive_journal()
    if faults:
        more = f" and {len(faults) - 1} more" if len(faults) > 1 else ""
        fix = "proveout gate --journal lists all of it; ask who works on the server before anything is pushed"
        return Point(name="journal", state="off", says=f"the receive journal: {faults[0]}{more}", fix=fix)
    says = f"{counted(lines, 'push', 'pushes')} in the receive journal, which agrees with the references"
    return Point(name="journal", state="on", says=says)


def driver(at: Place) -> Point:
    """Whether git diff shows programs as NC text."""
    command = at.setup.setting(DRIVER)
    if command is None:
        says = "git diff shows programs as any other text"
    elif command != at.setup.driver(RULE_VERSION):
        says = "git diff uses another command for programs than this version writes"
    elif not at.setup.driver_file():
        says = "the file git diff starts for programs is gone or was changed; programs are shown as they are"
    else:
        return Point(name="diff", state="on", says="git diff shows programs as NC text")
    return Point(name="diff", state="off", says=says, fix="proveout install")


def attributes(at: Place) -> Point:
    """Whether git leaves line ends and merges of programs alone."""
    programs = _programs(at.desk)
    found = list(zip(programs, at.setup.attributes(programs), strict=True)) if programs else []
    crlf = at.setup.setting("core.autocrlf")
    loose = [path for path, (text, _, _) in found if text != "unset"]
    if loose:
        setting = f"core.autocrlf is {crlf}" if crlf else "core.autocrlf is not set here, other PCs differ"
        says = f"git may change line ends of {_some(loose)} ({setting})"
        fix = "proveout install; for other PCs leave `* -text` in .gitattributes, and no rule with text, eol or filter"
        return Point(name="attributes", state="off", says=says, fix=fix)
    merged = [path for path, (_, diff, merge) in found if merge != "unset" or diff != "nc"]
    if merged:
        says = f"git would bring two edits together by itself, or shows plain text, for {_some(merged)}"
        fix = (
            "proveout install, and write a line like `*.nc -merge diff=nc` in .gitattributes for that ending"
        )
        return Point(name="attributes", state="off", says=says, fix=fix)
    says = f"line ends and merges of {counted(len(found), 'program')} are left alone"
    return Point(name="attributes", state="on", says=says)


def _programs(desk: Desk) -> list[str]:
    """What lies in the places for programs and is none of our files, and what was taken in where it lay."""
    newest = (stored.record for stored in newest_of(desk.repo.ledger()))
    held = {file.path for record in newest if isinstance(record, RevisionRecord) for file in record.files}
    return [path for path in desk.repo.tree().paths() if path in held or _is_in_place(path)]


def _is_in_place(path: str) -> bool:
    in_place = path.startswith(("jobs/", "common/"))
    return in_place and not path.endswith(".toml") and not is_below_records(path)


def shop(at: Place) -> Point:
    """Whether shop.toml can be read."""
    shop = at.desk.repo.tree().shop()
    says = f"shop.toml is right: {counted(len(shop.people), 'person', 'people')}, {counted(len(shop.machines), 'machine')}"
    return Point(name="shop", state="on", says=says)


def person(at: Place) -> Point:
    """Whether this PC stands for one person of the shop, or for nobody on purpose."""
    if (at.setup.setting(SHARED) or "").lower() in ("true", "yes", "on", "1"):
        return Point(name="person", state="on", says="this PC is shared: it stands for nobody, --by is asked")
    shop = at.desk.repo.tree().shop()
    found = whose(at.desk, shop)
    if not isinstance(found, str):
        return Point(name="person", state="on", says=f"this PC stands for {found.initials}")
    fix = "git config user.email ADDRESS (as in shop.toml), or proveout install --shared on a PC of several people"
    if not at.desk.email:
        return Point(name="person", state="off", says="git knows no e-mail address here", fix=fix)
    return Point(name="person", state="off", says=found, fix=fix)


def machine(at: Place) -> Point:
    """Which machine this PC stands at; none is no fault."""
    said = at.setup.setting(MACHINE)
    if not said:
        return Point(
            name="machine",
            state="on",
            says="this PC stands at no machine in particular: --machine is asked",
            advice=True,
        )
    known = at.desk.repo.tree().shop().machine(said)
    if known is None:
        says = f"this PC is said to stand at {said}, and shop.toml has no such machine"
        return Point(name="machine", state="off", says=says, fix="proveout install --machine ID")
    says = f"this PC stands at {known.id}: it is meant where --machine is left out"
    return Point(name="machine", state="on", says=says)


def roles(at: Place) -> Point:
    """Whether every role has somebody today."""
    shop = at.desk.repo.tree().shop()
    today = local_date(at.desk.clock.now(), zone_of(shop))
    missing = [role for role in _ROLES if not holders(shop, role, today)]
    if not missing:
        return Point(name="roles", state="on", says="every role has somebody")
    fix = "give the role to somebody in shop.toml (roles = [...])"
    return Point(name="roles", state="off", says=f"nobody has the role {', '.join(missing)}", fix=fix)


def locks(at: Place) -> Point:
    """Whether locks of git were left behind."""
    stale = [lock for lock in at.setup.locks() if lock.seconds > _STALE_SECONDS]
    if not stale:
        return Point(name="locks", state="on", says="no lock was left behind")
    says = "; ".join(f"{lock.path}: {lock.says}" for lock in stale[:_SHOWN])
    fix = "when no git program is running any more, delete that file"
    return Point(name="locks", state="off", says=says, fix=fix)


def unfinished(at: Place) -> Point:
    """Whether check-ins were cut short."""
    count = at.setup.unfinished()
    if not count:
        return Point(name="unfinished", state="on", says="every check-in came to its end")
    says = f"{counted(count, 'check-in was', 'check-ins were')} cut short"
    fix = "nothing to do: the next check-in takes back what they left, then repeat them"
    return Point(name="unfinished", state="off", says=says, fix=fix, advice=True)


def names(at: Place) -> Point:
    """Whether every file name can stand on every PC and stick."""
    faults = lint_paths([*at.desk.repo.tree().paths(), *at.desk.repo.work_tree().paths()])
    if not faults:
        return Point(name="names", state="on", says="every file name can stand on every PC and stick")
    shown = "; ".join(f"{fault.path}: {fault.why}" for fault in faults[:_SHOWN])
    more = f" and {len(faults) - _SHOWN} more" if len(faults) > _SHOWN else ""
    return Point(name="names", state="off", says=shown + more, fix="rename them")


def links(at: Place) -> Point:
    """Whether links or submodules stand in the record."""
    links = at.setup.links()
    if not links:
        return Point(name="links", state="on", says="no link leads out of the record")
    says = f"links and submodules are no files of the record: {_some(links)}"
    return Point(name="links", state="off", says=says, fix="put the file itself in their place")


def share(at: Place) -> Point:
    """When the record was last brought together with another place."""
    remote, shared = at.setup.last_share()
    says = share_words(shared, at.desk.clock.now(), shop_zone(at.desk))
    if not remote:
        fix = "keep a second copy: git remote add origin PLACE, then proveout share"
        return Point(name="share", state="off", says=says, fix=fix, advice=True)
    if shared is None:
        return Point(name="share", state="off", says=says, fix="proveout share", advice=True)
    return Point(name="share", state="on", says=says, advice=True)


def _some(paths: Sequence[str]) -> str:
    more = f" and {len(paths) - _SHOWN} more" if len(paths) > _SHOWN else ""
    return ", ".join(paths[:_SHOWN]) + more


def main_branch(at: Place) -> Point:
    """Whether a server's HEAD names a branch that is there: whose shop.toml counts is told by it."""
    named, there = at.setup.branches()
    if named in there or not there:
        return Point(name="main", state="on", says=f"the main branch is {named}")
    says = f"HEAD names {named}, and no branch is called so: there is {', '.join(there[:_SHOWN])}"
    fix = f"git -C {at.setup.root} symbolic-ref HEAD refs/heads/NAME, the branch everybody shares"
    return Point(name="main", state="off", says=says, fix=fix)
