"""What of ours lies on a stick where no record has it, and what lies there by the records and is gone.

A stick that was copied, a text somebody copied on it by hand; a text somebody took off, as he was told to. Both go into
the record of the export that sees it, so that a recall finds this stick too, and nobody has to bring one that is clean.
Only what the export looked at anyway is told: nothing more is read for it.
"""

from collections.abc import Container
from dataclasses import replace

from tracker.policy.find import same_name
from tracker.records.events import ExportRecord, OnStick
from tracker.services.on_sticks import copies, lies_there
from tracker.services.outbound import Outbound
from tracker.services.placing import Placing
from tracker.services.ports_stick import RELEASED
from tracker.services.stick_view import written


def found_there(out: Outbound, settled: Container[str]) -> tuple[OnStick, ...]:
    """Texts of ours that stay and that no record has at their place; ``settled``: what this export writes or takes off."""
    looked_at = {one.path: out.contents.hashed.get(one.path) for one in out.contents.files()}
    ours = [
        replace(file, path=written(path))
        for path, sha256 in looked_at.items()
        if sha256 is not None and path not in settled and (file := _ours(out, sha256)) is not None
    ]
    if not ours:
        return ()
    there = {path: file.sha256 for path, file in lies_there(out.ledger, out.stick).items()}
    return tuple(file for file in ours if there.get(file.path.casefold()) != file.sha256)


def missing_there(out: Outbound, placing: Placing, settled: Container[str]) -> tuple[OnStick, ...]:
    """What the records have in the machine's folder and is not there, nor taken off by this export.

    Only where the list that lies there is the last one written to a stick of this name: another stick by the same name
    lacks much, and takes nothing off the first.
    """
    last = [
        one.record
        for one in out.known.exports
        if isinstance(one.record, ExportRecord)
        and same_name(one.record.stick, out.stick)
        and same_name(one.record.machine, out.machine.id)
        and one.record.purpose == out.purpose
    ]
    if not last or placing.manifest_replaces != last[-1].manifest:
        return ()
    folded = out.contents.shaper.folded
    there = {folded(written(one.path)) for one in out.contents.seen}
    folder = out.contents.folder_of(out.machine, RELEASED).casefold() + "/"
    gone = {
        copy.path: copy.file
        for copy in copies(out.ledger)
        if copy.there
        and same_name(copy.stick, out.stick)
        and copy.path.casefold().startswith(folder)
        and copy.path not in settled
        and folded(copy.path) not in there
    }
    return tuple(gone.values())


def written_to_another(out: Outbound, placing: Placing) -> str | None:
    """That the list which lies there was written to a stick of another name, in words."""
    stored = out.known.manifests.get(placing.manifest_replaces or "")
    record = None if stored is None else stored.record
    if not isinstance(record, ExportRecord) or same_name(record.stick, out.stick):
        return None
    return (
        f"the list in {placing.folder} was written to {record.stick}: this is {record.stick} by another name, or a copy of it; "
        f"it is recorded as {out.stick} from now on"
    )


def _ours(out: Outbound, sha256: str) -> OnStick | None:
    """A text of ours by its bytes, as the last export for this machine wrote it, else another one, else as it was checked in."""
    exported = out.known.exported(sha256)
    mine = [one for one in exported if same_name(one.record.machine, out.machine.id)] or exported
    if mine:
        return mine[-1].file
    texts = out.known.by_bytes(sha256)
    return texts[-1].lying_at("") if texts else None
