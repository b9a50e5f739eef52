"""An export before it is decided what goes: who takes what where, for which machine, and what lies there now."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol

from tracker.errors import BadCall
from tracker.policy.may import require
from tracker.records.events import ExportRecord, OnStick
from tracker.records.shop import Machine, Person
from tracker.records.stored import Ledger
from tracker.services.desk import Desk, acting
from tracker.services.export_papers import MakePapers, no_papers
from tracker.services.known import KnownTexts
from tracker.services.machine_named import machine_named
from tracker.services.ports import Head
from tracker.services.ports_stick import (
    MANIFEST_NAME,
    RELEASED,
    Medium,
    Purpose,
    Shaper,
)
from tracker.services.progress import Tell, phase, quiet
from tracker.services.recording import attached_head
from tracker.services.stick_view import Contents, need_owner, not_lost, stick_name


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
    papers: MakePapers = field(default=no_papers, repr=False)
    tell: Tell = field(default=quiet, repr=False)

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
    """Where an export goes, as a person said it.

    ``papers`` makes what is to lie beside the programs; ``tell`` is told how far it is.
    """

    medium: Medium
    shaper: Shaper
    machine: str | None
    by: str | None = None
    stick: str | None = None
    dry_run: bool = False
    papers: MakePapers = no_papers
    tell: Tell = quiet


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
        Refused: ``detached-head``, ``wrong-role``, ``stick-without-owner``, ``stick-lost``.
        BadCall: ``who``, ``unknown-person``, ``which-machine``, ``unknown-machine``, ``stick-name``, ``no-stick``.
        CouldNot: the repository or the stick could not be read.
    """
    phase(to.tell, "reading the records")
    head = attached_head(desk)
    ledger = desk.repo.ledger()
    person = acting(desk, ledger.shop, to.by)
    require(ledger.shop, person, "export", desk.clock.now())
    machine = machine_named(ledger.shop, to.machine)
    stick = stick_name(ledger.shop, to.medium, to.stick)
    need_owner(ledger.shop, stick, desk.clock.now())
    not_lost(ledger.shop, stick, desk.clock.now())
    known, contents = KnownTexts(desk.repo, ledger), Contents.of(to.medium, to.shaper)
    _no_machines_folder(contents, known)
    return Outbound(
        desk=desk,
        head=head,
        ledger=ledger,
        person=person,
        machine=machine,
        stick=stick,
        purpose=purpose,
        dry_run=to.dry_run,
        known=known,
        contents=contents,
        papers=to.papers,
        tell=to.tell,
    )


def _no_machines_folder(contents: Contents, known: KnownTexts) -> None:
    """Raise BadCall (``no-stick``) for a folder an export wrote a list into.

    A machine's folder inside it would leave the texts of that export where the machine looks for them.
    """
    there = contents.at(MANIFEST_NAME)
    sha256 = contents.digest_if_readable(there.path) if there is not None and there.kind == "file" else None
    record = known.manifests[sha256].record if sha256 in known.manifests else None
    if isinstance(record, ExportRecord):
        raise BadCall(
            "no-stick",
            f"an export for {record.machine} wrote into this very folder: it is a machine's folder, no stick",
            where=contents.medium.label,
            fix="name the folder of the stick, which that one lies in",
        )
