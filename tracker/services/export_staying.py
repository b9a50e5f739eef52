"""What a mirror leaves on the stick and says so: texts apart whose day is not over, and what lies in no machine's folder.

A text for its prove-out stays within its week, one of a deviation within its hours: taking them off would end somebody's
prove-out. Copies of ours and strange files outside every machine's folder are nobody's by the folder they lie in: they
are named and never touched. Few of them are named, the rest is counted; bytes are read up to a limit, programs by
their ending first, so that a stick full of pictures keeps nobody waiting: what was not looked into is counted too.
"""

from collections.abc import Container, Iterator, Sequence
from datetime import datetime

from tracker.policy.find import label, same_name
from tracker.records.events import OnStick
from tracker.services.call_in import in_former_folders
from tracker.services.export_beside import until_of, until_words
from tracker.services.export_report import LeavesStick, Outside, StaysApart
from tracker.services.known import unreleased
from tracker.services.outbound import Outbound
from tracker.services.placing import Placing
from tracker.services.ports_stick import NOT_IN_TEXT, SUBFOLDERS, UNRELEASED, Seen
from tracker.services.stick_view import written

MOST_NAMED = 12
"""Files of a kind outside the machines' folders that are named; the rest is counted."""
MOST_BYTES = 1 << 29
"""Bytes of files outside the machines' folders that are read to tell copies of ours."""


def staying(out: Outbound, placing: Placing, gone: Container[str]) -> Iterator[StaysApart]:
    """Texts of ours in the folders apart that do not leave; raises CouldNot (``medium-gone``)."""
    settled = {placed.path for placed in placing.placed}
    for purpose in SUBFOLDERS:
        for seen in out.contents.files(out.contents.folder_of(out.machine, purpose)):
            if seen.path in gone or seen.path in settled:
                continue
            mine = [
                one
                for one in out.known.exported(out.contents.digest_if_readable(seen.path) or "")
                if same_name(one.record.machine, out.machine.id) and one.record.purpose == purpose
            ]
            if mine:
                yield _stays(out, seen, mine[-1].file, purpose, until_of(out, mine[-1]))


def _stays(out: Outbound, seen: Seen, file: OnStick, purpose: str, until: datetime) -> StaysApart:
    silent = f"; {NOT_IN_TEXT}" if out.known.in_another_language(file) else ""
    return StaysApart(
        path=written(seen.path),
        job=file.job or "",
        operation=file.operation or "",
        revision=label(file.revision or ""),
        unreleased=UNRELEASED[purpose],
        until=until,
        why=f"{UNRELEASED[purpose]}: stays until {until_words(out, until, purpose)}{silent}",
    )


def outside(out: Outbound, gone: Container[str]) -> Outside:
    """What lies in no machine's folder, nor in one that was, and does not leave; raises CouldNot (``medium-gone``)."""
    copies: list[LeavesStick] = []
    strange: list[str] = []
    counts = {"copies": 0, "strange": 0, "unread": 0}
    left = MOST_BYTES
    for seen in _elsewhere(out, gone):
        if seen.size > left:
            counts["unread"] += 1
            continue
        left -= seen.size
        what = _ours(out, seen)
        kind = "strange" if what is None else "copies"
        counts[kind] += 1
        if counts[kind] <= MOST_NAMED:
            named = written(seen.path)
            if what is None:
                strange.append(named)
            else:
                copies.append(LeavesStick(path=named, why=what))
    return Outside(
        copies=tuple(copies),
        more_copies=counts["copies"] - len(copies),
        strange=tuple(strange),
        more_strange=counts["strange"] - len(strange),
        unread=counts["unread"],
    )


def _elsewhere(out: Outbound, gone: Container[str]) -> Sequence[Seen]:
    """Files in no machine's folder and at no place an export for this machine wrote; those named as programs first."""
    folded = out.contents.shaper.folded
    homes = tuple(folded(one.folder_name) + "/" for one in out.ledger.shop.machines)
    former = in_former_folders(out.contents, out.known, out.ledger.shop, out.machine)
    told = {one.path for one in (*former, *out.contents.leftovers())}
    found = [
        one
        for one in out.contents.files()
        if not folded(one.path).startswith(homes) and one.path not in told and one.path not in gone
    ]
    endings = {folded(_ending(one.file.path)) for one in out.known.all_exported()}
    return sorted(found, key=lambda one: (folded(_ending(one.path)) not in endings, one.path))


def _ending(path: str) -> str:
    name = path.rpartition("/")[2]
    return name.rpartition(".")[2] if "." in name else ""


def _ours(out: Outbound, seen: Seen) -> str | None:
    """What of ours a file is a copy of, in words; None for one that is in no record, or cannot be read."""
    sha256 = out.contents.digest_if_readable(seen.path) or ""
    exported, texts = out.known.exported(sha256), out.known.by_bytes(sha256)
    if exported:
        file = exported[-1].file
        what = f"{file.job}/{file.operation} {label(file.revision or '')}"
        apart = unreleased(exported)
        what = what if apart is None else f"{what}, {apart},"
    elif texts:
        what = f"{texts[-1].job}/{texts[-1].operation} {label(texts[-1].stored.name)}"
    elif sha256 in out.known.papers or sha256 in out.known.manifests:
        what = "a list or paper of ours"
    else:
        return None
    return f"is a copy of {what} outside the machines' folders: not removed, take it off by hand"
