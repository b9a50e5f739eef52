"""The list of what is ours in a folder of a stick after an export: what it wrote, and what earlier ones left there."""

from collections.abc import Container, Mapping
from dataclasses import replace
from datetime import datetime

from tracker.records.events import OnStick
from tracker.services.outbound import Outbound
from tracker.services.placing import Placed, Placing
from tracker.services.ports_stick import NOT_IN_TEXT, UNRELEASED, Listed, Manifest
from tracker.services.stick_view import written


def on_stick(placed: Placed) -> OnStick:
    """A program as the record of its export has it."""
    program = placed.shaped.program
    return OnStick(
        path=written(placed.path),
        sha256=placed.shaped.sha256,
        job=program.job,
        operation=program.operation,
        revision=program.revision,
        fingerprint=program.fingerprint,
        program=program.source,
        release=program.release,
    )


def manifest_of(
    out: Outbound, placing: Placing, until: datetime, gone: Container[str], stopped: Mapping[str, str]
) -> Manifest:
    """What is ours in the folder after this export: what it wrote, and what earlier ones wrote and is still there.

    ``stopped``: why texts may not run that still lie there, by their paths as they are written.
    """
    now = [_marked(out, as_listed(on_stick(placed))) for placed in placing.placed]
    taken = {out.contents.shaper.folded(listed.file) for listed in now}
    return Manifest(
        stick=out.stick,
        machine=out.machine.id,
        purpose=out.purpose,
        at=out.now,
        by=out.person.initials,
        until=until,
        files=(
            *now,
            *(
                one
                for one in _kept(out, placing, gone, stopped)
                if out.contents.shaper.folded(one.file) not in taken
            ),
        ),
    )


def _kept(out: Outbound, placing: Placing, gone: Container[str], stopped: Mapping[str, str]) -> list[Listed]:
    kept = []
    for seen in out.contents.files(placing.folder):
        here = seen.folder == placing.folder and seen.path not in gone
        sha256 = out.contents.digest_if_readable(seen.path) if here else None
        exported = [
            one
            for one in out.known.exported(sha256 or "")
            if one.record.machine == out.machine.id and one.record.purpose == out.purpose
        ]
        if exported:
            why = stopped.get(written(seen.path))
            listed = replace(as_listed(exported[-1].file), file=seen.name, may_not_run=why)
            kept.append(_marked(out, listed))
    return kept


def _marked(out: Outbound, listed: Listed) -> Listed:
    """With what is said of a text that is not released; nothing is said of one that is."""
    if out.purpose not in UNRELEASED:
        return listed
    silent = NOT_IN_TEXT if out.known.in_another_language(listed) else None
    return replace(listed, unreleased=UNRELEASED[out.purpose], not_in_text=silent)


def as_listed(file: OnStick) -> Listed:
    """A file of a record as a manifest lists it."""
    return Listed(
        file=file.path.rsplit("/", 1)[-1],
        sha256=file.sha256,
        job=file.job or "",
        operation=file.operation or "",
        revision=file.revision or "",
        fingerprint=file.fingerprint or "",
        program=file.program or "",
        release=file.release,
    )
