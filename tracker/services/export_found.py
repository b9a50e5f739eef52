"""What of ours lies on a stick where no record has it, and what lies there by the records and is gone.

A stick that was copied, a text somebody copied on it by hand; a text somebody took off, as he was told to. Both go into
the record of the export that sees it, so that a recall finds this stick too, and nobody has to bring one that is clean.
Only what the export looked at anyway is told, and what strangers in its own folder hold by their code: what a control or a
person wrote otherwise.
"""

from collections.abc import Container, Iterator
from dataclasses import replace

from tracker.digest import sha256_of
from tracker.policy.days import words, zone_of
from tracker.policy.find import same_name
from tracker.records.events import ExportRecord, OnStick
from tracker.services.on_sticks import lies_there, of_this_name
from tracker.services.outbound import Outbound
from tracker.services.placing import Placing, codes_known
from tracker.services.ports_stick import MANIFEST_NAME, PURPOSES, RELEASED, Seen
from tracker.services.stick_view import written


def found_there(out: Outbound, settled: Container[str]) -> tuple[OnStick, ...]:
    """Texts of ours that stay and that no record has at their place; ``settled``: what this export writes or takes off."""
    codes_known(out.contents, out.known, _strange(out, settled))
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

    Only where the list that lies there is the last one written to a stick of this name, and only what it names or what exports
    put there that it comes from: another stick by the same name lacks much, and takes nothing off the first.
    """
    last = _last_to(out)
    if last is None or placing.manifest_replaces != last.manifest:
        return ()
    folded = out.contents.shaper.folded
    data = out.contents.medium.read(placing.manifest_path)
    if sha256_of(data) != last.manifest:  # somebody was quicker
        return ()
    listed = out.contents.shaper.read_manifest(data)
    there = {folded(written(one.path)) for one in out.contents.seen}
    lost = {folded(f"{written(placing.folder)}/{one.file}") for one in listed.files} - there
    folder = folded(out.contents.folder_of(out.machine, RELEASED)) + "/"
    own, others = of_this_name(out.ledger, out.stick, lists_there(out))
    every = (
        (copy, folded(copy.path)) for copy in (*own, *(one for one in others if folded(one.path) in lost))
    )
    gone = {
        copy.path: copy.file
        for copy, path in every
        if path.startswith(folder) and path not in there and copy.path not in settled
    }
    return tuple(gone.values())


def lists_there(out: Outbound) -> tuple[str, ...]:
    """SHA-256 of the lists that lie in the machine's folders and that an export wrote."""
    places = (f"{out.contents.folder_of(out.machine, purpose)}/{MANIFEST_NAME}" for purpose in PURPOSES)
    there = (out.contents.at(place) for place in places)
    digests = (
        out.contents.digest_if_readable(one.path) for one in there if one is not None and one.kind == "file"
    )
    return tuple(one for one in digests if one is not None and one in out.known.manifests)


def _last_to(out: Outbound) -> ExportRecord | None:
    """The last export of this purpose for the machine to a stick of this name."""
    found = None
    for record in (one.record for one in out.known.exports):
        if (
            isinstance(record, ExportRecord)
            and same_name(record.stick, out.stick)
            and same_name(record.machine, out.machine.id)
            and record.purpose == out.purpose
        ):
            found = record
    return found


def another_stick(out: Outbound, placing: Placing) -> str | None:
    """That this is hardly the stick the records know by this name, in words: by the list that lies there, or does not."""
    last = _last_to(out)
    if placing.manifest_replaces is None and last is not None and out.purpose == RELEASED:
        day = words(last.entered.astimezone(zone_of(out.ledger.shop)).date())
        return (
            f"{out.stick} had a list in {placing.folder} on {day}, and this stick has none: it was emptied, or is another one by "
            f"the same name; what that one carries is not looked at here. If it was emptied: proveout collect DIR --stick {out.stick}"
        )
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
    if texts:
        return texts[-1].lying_at("")
    alike = out.known.looked_into.get(sha256)
    return None if alike is None else replace(alike.lying_at(""), sha256=sha256)


def _strange(out: Outbound, settled: Container[str]) -> Iterator[Seen]:
    """Files in the folder of this export that no record knows by their bytes."""
    for seen in out.contents.files(out.folder):
        sha256 = None if seen.path in settled else out.contents.digest_if_readable(seen.path)
        ours = sha256 is None or sha256 in out.known.papers or sha256 in out.known.manifests
        if not ours and _ours(out, sha256 or "") is None:
            yield seen
