"""What of ours an export takes off the stick.

A plain export takes away only what had a day of its own and is past it: texts for a prove-out after a week or once
something newer is released, texts of a deviation whose hours are over. A mirror takes away everything of ours that is
not in the set, in this machine's folder and in one it had before. Ours is what stands in an export record by SHA-256,
whatever a manifest says; anything else is named and kept.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from tracker.policy.find import label, same_name
from tracker.records.events import OnStick
from tracker.services.call_in import Today, in_former_folders, once_written, purpose_in
from tracker.services.export_beside import ASK_AGAIN_DAYS
from tracker.services.export_report import LeavesStick
from tracker.services.known import Exported, Known
from tracker.services.outbound import Outbound
from tracker.services.placing import Placing, codes_known, other_writing
from tracker.services.ports_stick import FOR_PROVING, RELEASED, SUBFOLDERS, Seen
from tracker.services.stick_view import written

_OVER = "was out for its prove-out for a week"


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaving:
    """One file that goes: ``path`` as it lies there, ``file`` as an export wrote it (None: a list of ours), why."""

    path: str
    sha256: str
    file: OnStick | None
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What goes off the stick, and what lies in the machine's folder that no export wrote.

    ``changed``: what of that lies where an export wrote a program, and texts that were carried there past every export.
    """

    leaves: tuple[Leaving, ...] = ()
    unknown: tuple[str, ...] = ()
    changed: tuple[LeavesStick, ...] = ()


def has_apart(out: Outbound) -> bool:
    """Whether something lies in a folder of the machine whose texts have a day of their own."""
    return any(out.contents.files(out.contents.folder_of(out.machine, purpose)) for purpose in SUBFOLDERS)


def plan_of(out: Outbound, placing: Placing, today: Today, *, mirror: bool) -> Plan:
    """What leaves with this export; raises CouldNot (``medium-gone``) when the stick went."""
    stays = {placed.path for placed in placing.placed} | {placing.manifest_path}
    leaves: list[Leaving] = []
    others: list[tuple[Seen, str | None]] = []
    former = in_former_folders(out.contents, out.known, out.ledger.shop, out.machine)
    for seen in (*out.contents.files(out.contents.folder_of(out.machine, RELEASED)), *former):
        sha256 = None if seen.path in stays else out.contents.digest_if_readable(seen.path)
        if seen.path in stays or out.contents.is_manifest(seen):
            continue
        if sha256 in out.known.papers:
            why = _sheet_over(out, seen, out.known.papers[sha256], today)
            if why is not None:
                leaves.append(Leaving(path=seen.path, sha256=sha256, file=None, why=why))
            continue
        exported = out.known.exported(sha256 or "")
        why = _why(out, seen, exported, today, mirror=mirror, former=seen in former) if exported else None
        if not exported:
            others.append((seen, sha256))
        elif why is not None and sha256 is not None:
            file = replace(exported[-1].file, path=written(seen.path))
            leaves.append(Leaving(path=seen.path, sha256=sha256, file=file, why=why))
    gone = {one.path for one in leaves}
    unknown, changed = _of_no_export(out, others, today, mirror=mirror)
    return Plan(
        leaves=(*leaves, *_lists(out, leaves, {one.folder for one in former if one.path in gone})),
        unknown=unknown,
        changed=changed,
    )


def _of_no_export(
    out: Outbound, others: Sequence[tuple[Seen, str | None]], today: Today, *, mirror: bool
) -> tuple[tuple[str, ...], tuple[LeavesStick, ...]]:
    """Of files no export wrote those that are nobody's, and those that are, or were, a text of ours."""
    once = once_written(out.contents, out.known, out.machine) if others else frozenset()
    bytes_known = {seen.path: texts for seen, sha256 in others if (texts := out.known.by_bytes(sha256 or ""))}
    alike = codes_known(out.contents, out.known, (seen for seen, _ in others if seen.path not in bytes_known))
    unknown: list[str] = []
    changed: list[LeavesStick] = []
    for seen, _ in others:
        texts, same = bytes_known.get(seen.path, ()), alike.get(seen.path)
        if out.contents.shaper.folded(seen.path) in once:
            changed.append(_changed(seen, texts, same, today))
        elif texts:
            changed += _carried_here(seen, texts[-1], today, mirror=mirror)
        elif same is not None:
            changed += _in_another_writing(seen, same, today, mirror=mirror)
        else:
            unknown.append(written(seen.path))
    return tuple(unknown), tuple(changed)


def _carried_here(seen: Seen, text: Known, today: Today, *, mirror: bool) -> Iterator[LeavesStick]:
    """A text as it was checked in, that somebody carried there past every export; a plain one says so where it may not run."""
    why = _why_not(seen, text, today)
    if why is None and not mirror:
        return
    name = f"{text.job}/{text.operation} {label(text.stored.name)}"
    said = "" if why is None else f" ({why})"
    yield LeavesStick(
        path=written(seen.path),
        why=f"is {name} as it was checked in{said}, and no export wrote it there: take it off by hand",
    )


def _in_another_writing(seen: Seen, text: Known, today: Today, *, mirror: bool) -> Iterator[LeavesStick]:
    """The code of a text in a writing no record has, where no export wrote; a plain one says so where it may not run."""
    why = _why_not(seen, text, today)
    if why is not None or mirror:
        yield LeavesStick(path=written(seen.path), why=other_writing(text, why))


def _why_not(seen: Seen, text: Known, today: Today) -> str | None:
    """Why a text no export wrote may not lie where it does."""
    apart = purpose_in(seen.folder) != RELEASED
    return today.why_not(text.lying_at(seen.path), None if apart else RELEASED)


def _changed(seen: Seen, texts: Sequence[Known], same: Known | None, today: Today) -> LeavesStick:
    """A file in the place of a program of ours that is not what an export wrote there."""
    if texts:
        text = texts[-1]
        name = f"{text.job}/{text.operation} {label(text.stored.name)}"
        why = f"is {name}, taken in and not for this stick: take it off by hand"
    elif same is not None:
        why = other_writing(same, _why_not(seen, same, today))
    else:
        why = "was changed since it was exported: collect it first"
    return LeavesStick(path=written(seen.path), why=why)


def _why(
    out: Outbound, seen: Seen, exported: Sequence[Exported], today: Today, *, mirror: bool, former: bool
) -> str | None:
    """Why a file of ours goes; None if it stays."""
    if former:
        exported = [one for one in exported if same_name(one.record.machine, out.machine.id)]
        if not exported:
            return None
        if mirror:
            return f"lies where {out.machine.id} had its folder before"
    apart = exported[-1].record.purpose if former else _purpose_of(out, seen)
    own = [one for one in exported if one.record.purpose == apart]
    if apart == RELEASED or not own:
        return _not_in_the_set(out, exported, today) if mirror else None
    reason = today.why_not(own[-1].file, apart)
    if reason is None and apart == FOR_PROVING and _week_over(own[-1], out.now):
        return _OVER
    return reason


def _not_in_the_set(out: Outbound, exported: Sequence[Exported], today: Today) -> str:
    """Why a mirror takes a file off: what stopped its text where that is known, so that nobody has to look it up."""
    mine = [one for one in exported if one.record.machine.casefold() == out.machine.id.casefold()]
    why = today.why_not(mine[-1].file, RELEASED) if mine else f"was written for {exported[-1].record.machine}"
    return why or "is not in the set for this machine"


def _sheet_over(out: Outbound, seen: Seen, paper: OnStick, today: Today) -> str | None:
    """Why a sheet goes: what it speaks for may not run here today. The read-me is renewed, and sheets apart go with it."""
    if paper.job is None or _purpose_of(out, seen) != RELEASED:
        return None
    current = [one.released for one in today.usable if one.released.name == f"{paper.job}/{paper.operation}"]
    if any(one.stored.name == paper.revision for one in current):
        return None
    return f"sheet of {paper.job}/{paper.operation} {label(paper.revision)}, which may not run here today"


def _purpose_of(out: Outbound, seen: Seen) -> str:
    """By the folder it lies in: released, for proving, deviation."""
    return next(
        (purpose for purpose in SUBFOLDERS if seen.folder == out.contents.folder_of(out.machine, purpose)),
        RELEASED,
    )


def _week_over(exported: Exported, now: datetime) -> bool:
    return now >= exported.record.entered + timedelta(days=ASK_AGAIN_DAYS)


def _lists(out: Outbound, leaves: Sequence[Leaving], former: set[str]) -> Iterator[Leaving]:
    """Our own list and papers in a folder apart or a former one, once no program of ours is left there."""
    going = {one.path for one in leaves}
    apart = [out.contents.folder_of(out.machine, purpose) for purpose in SUBFOLDERS]
    for folder in (*apart, *sorted(former.difference(apart))):
        here = [one for one in out.contents.files(folder) if one.folder == folder and one.path not in going]
        if not any(path.startswith(folder + "/") for path in going):
            continue
        hashes = [out.contents.digest_if_readable(one.path) or "" for one in here]
        if not all(sha256 in out.known.papers or sha256 in out.known.manifests for sha256 in hashes):
            continue
        for one, sha256 in zip(here, hashes, strict=True):
            yield Leaving(path=one.path, sha256=sha256, file=None, why="speaks of what has left")
