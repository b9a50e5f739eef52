"""Putting programs on a stick, once it is decided which: shape, place, write, record, name.

The order, and why: everything is decided and shaped first; the files are written under temporary names, synced and
read back; then the export is recorded; then the files get their names, the manifest last. So a file that lies on a
stick under a program's name is always one the record knows, and a stick that fails leaves a record that says too much
rather than too little: recalls look at every stick that may carry a text.
"""

import hashlib
from collections.abc import Container, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Protocol

from tracker.errors import Refused
from tracker.policy.find import label
from tracker.policy.may import require
from tracker.policy.spelled import counted
from tracker.records.events import AnyRecord, ExportRecord, OnStick
from tracker.records.shop import Machine, Person
from tracker.records.stored import Ledger
from tracker.services.desk import Desk, acting, opening
from tracker.services.export_report import ExportedFile, ExportedOperation, ExportReport
from tracker.services.known import KnownTexts
from tracker.services.machine_named import machine_named
from tracker.services.placing import Placed, Placing, place
from tracker.services.ports import Head
from tracker.services.ports_stick import (
    RELEASED,
    Listed,
    Manifest,
    Medium,
    Outgoing,
    Purpose,
    Shaper,
    ToWrite,
)
from tracker.services.recording import attached_head, put_down
from tracker.services.stick_view import Contents, need_owner, owner_note, owner_of, stick_name, written


@dataclass(frozen=True, slots=True, kw_only=True)
class Outbound:
    """Who takes what where, before the stick is written."""

    desk: Desk
    head: Head
    ledger: Ledger
    person: Person
    machine: Machine
    stick: str
    purpose: Purpose
    dry_run: bool
    known: KnownTexts = field(repr=False)
    contents: Contents = field(repr=False)

    @property
    def now(self) -> datetime:
        """The moment of this export."""
        return self.desk.clock.now()

    @property
    def folder(self) -> str:
        """Where the programs go."""
        return self.contents.folder_of(self.machine, self.purpose)


@dataclass(frozen=True, slots=True, kw_only=True)
class Destination:
    """Where an export goes, as a person said it."""

    medium: Medium
    shaper: Shaper
    machine: str | None
    by: str | None = None
    stick: str | None = None
    dry_run: bool = False


class TakenOff(Protocol):
    """A file of ours that leaves: where it lies, its SHA-256, and what it was (None: a list)."""

    @property
    def path(self) -> str:
        """As it lies on the stick."""

    @property
    def sha256(self) -> str:
        """Of its bytes."""

    @property
    def file(self) -> OnStick | None:
        """As an export wrote it."""


def outbound(desk: Desk, to: Destination, purpose: Purpose = RELEASED) -> Outbound:
    """Who, where, for which machine.

    Raises:
        Refused: ``detached-head``, ``wrong-role``, ``stick-without-owner``.
        BadCall: ``who``, ``unknown-person``, ``which-machine``, ``unknown-machine``, ``stick-name``.
        CouldNot: the repository or the stick could not be read.
    """
    head = attached_head(desk)
    ledger = desk.repo.ledger()
    person = acting(desk, ledger.shop, to.by)
    require(ledger.shop, person, "export", desk.clock.now())
    machine, stick = machine_named(ledger.shop, to.machine), stick_name(to.medium, to.stick)
    need_owner(ledger.shop, stick, desk.clock.now())
    return Outbound(
        desk=desk,
        head=head,
        ledger=ledger,
        person=person,
        machine=machine,
        stick=stick,
        purpose=purpose,
        dry_run=to.dry_run,
        known=KnownTexts(desk.repo, ledger),
        contents=Contents.of(to.medium, to.shaper),
    )


def prepare(
    out: Outbound,
    programs: Sequence[Outgoing],
    operations: tuple[ExportedOperation, ...],
    *,
    until: datetime,
) -> tuple[Placing, ExportReport]:
    """Shape the programs, find their places, and say what would be written.

    Raises Refused (``cannot-shape``, and what `place` raises) with every reason.
    """
    layout = out.contents.shaper.shape(out.machine, programs, out.purpose)
    if layout.problems:
        raise Refused(
            "cannot-shape",
            f"nothing was written: some programs cannot stand on a stick for {out.machine.id} as they are",
            fix="change the name or the text in the office, or the machine's table in shop.toml",
            reasons=layout.problems,
        )
    placing = place(out.contents, out.known, out.folder, layout.files)
    notes = [
        f"{written(seen.path)} is left from an export that was cut off: no program, delete it"
        for seen in out.contents.leftovers()
    ]
    notes += filter(None, [owner_note(out.ledger.shop, out.stick)])
    report = ExportReport(
        machine=out.machine.id,
        stick=out.stick,
        folder=out.folder,
        purpose=out.purpose,
        operations=operations,
        files=tuple(_file(placed) for placed in placing.placed),
        notes=tuple(notes),
        at=out.now,
        until=until,
        dry_run=out.dry_run,
        zone=out.ledger.shop.timezone,
    )
    return placing, report


def write(
    out: Outbound,
    placing: Placing,
    until: datetime,
    more: Sequence[AnyRecord] = (),
    takes_off: Sequence[TakenOff] = (),
) -> str:
    """Write, record, name; returns the record's path. Nothing stays on the stick when it was not recorded.

    ``more``: records that go down in the same commit; ``takes_off``: files of ours that leave, between the record and
    the new names, so that a stick that fails in between lacks a text rather than keeping a wrong one.
    """
    manifest = out.contents.shaper.write_manifest(
        _manifest(out, placing, until, {one.path for one in takes_off})
    )
    sha256 = hashlib.sha256(manifest).hexdigest()
    files = [file for placed in placing.placed if (file := placed.to_write) is not None]
    files.append(
        ToWrite(path=placing.manifest_path, data=manifest, sha256=sha256, replaces=placing.manifest_replaces)
    )
    record = ExportRecord(
        machine=out.machine.id,
        stick=out.stick,
        owner=owner_of(out.ledger.shop, out.stick, out.now),
        purpose=out.purpose,
        manifest=sha256,
        files=tuple(_on_stick(placed) for placed in placing.placed),
        removed=tuple(one.file for one in takes_off if one.file is not None),
        **opening(out.desk, out.person),
    )
    staged = out.contents.medium.stage(files)
    try:
        message = f"export {out.machine.id} to {out.stick}: {counted(len(placing.placed), 'program')}"
        put = put_down(
            out.desk, out.ledger, out.head, None, [record, *more], author=out.person, message=message
        )
        for one in takes_off:
            out.contents.medium.remove(one.path, one.sha256)
        staged.finish()
    finally:
        staged.drop()
    return put.paths[0]


def _file(placed: Placed) -> ExportedFile:
    program = placed.shaped.program
    return ExportedFile(
        path=written(placed.path),
        program=program.source,
        action=placed.action,
        sha256=placed.shaped.sha256,
        job=program.job,
        operation=program.operation,
        revision=label(program.revision),
        release=program.release,
        mark=program.mark.upper(),
        users=program.users,
        notes=placed.shaped.notes,
    )


def _on_stick(placed: Placed) -> OnStick:
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


def _manifest(out: Outbound, placing: Placing, until: datetime, gone: Container[str]) -> Manifest:
    """What is ours in the folder after this export: what it wrote, and what earlier ones wrote and is still there."""
    now = [_listed(_on_stick(placed)) for placed in placing.placed]
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
            *(one for one in _kept(out, placing, gone) if out.contents.shaper.folded(one.file) not in taken),
        ),
    )


def _kept(out: Outbound, placing: Placing, gone: Container[str]) -> list[Listed]:
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
            kept.append(replace(_listed(exported[-1].file), file=seen.name))
    return kept


def _listed(file: OnStick) -> Listed:
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
