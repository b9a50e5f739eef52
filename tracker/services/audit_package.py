"""``audit --bundle``: what an auditor without this program is handed, as files by name.

======================================== =================================================================
records/<path in the repository>         every record of every branch and tag, with its signature beside it
programs/<job>/<op>/<revision>/<path>    the programs of every revision, byte for byte, and its job.toml
shop/<place>-<state>.toml                every shop.toml there ever was, oldest first
tags/release/<job>/<n>.tag               every release tag as git keeps it, with the signature in it
signers.txt                              whose key is whose, as ssh-keygen reads it
======================================== =================================================================

What cannot be read back is no file and is named among the gaps; nothing is put in its place.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from urllib.parse import quote

from tracker.policy.find import label
from tracker.records.events import RevisionRecord
from tracker.records.places import SHOP
from tracker.records.public_keys import key_line, public_key
from tracker.records.signatures import NAMESPACE, TAG_NAMESPACE, signature_path
from tracker.records.stored import Ledger, Stored
from tracker.services.desk import Desk
from tracker.services.history import Happened, history
from tracker.services.ports import Tree
from tracker.services.revision_text import job_path_of, revision_text

SAFE = "/ !#$&'()+,-.;=@[]^_`{}~"
"""What stands in a name inside the package as it is; all else as ``%XX`` of its UTF-8, so that any disk takes it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditPackage:
    """The files by name, what happened for the index, what is missing and why, and which record is which file."""

    shop: str
    paper: str
    timezone: str
    at: str
    state: str
    files: Mapping[str, bytes]
    events: tuple[Happened, ...]
    gaps: tuple[str, ...]


def audit_package(desk: Desk, at: str) -> AuditPackage:
    """Gather all of it; ``at`` is the moment it is made (RFC 3339). Raises what reading the repository raises."""
    ledger = desk.repo.ledger()
    gather = _Gather(desk, ledger)
    return AuditPackage(
        shop=ledger.shop.name,
        paper=ledger.shop.paper,
        timezone=ledger.shop.timezone,
        at=at,
        state=desk.repo.head().commit or "",
        files=dict(gather.files()),
        events=history(desk, None).events,
        gaps=tuple(gather.gaps),
    )


def place_of(path: str) -> str:
    """A path of the repository as it is spelled inside the package; it never leads out of it."""
    parts = quote(path, safe=SAFE, errors="surrogateescape").split("/")
    return "/".join(part.replace(".", "%2E") if part in (".", "..") else part for part in parts)


class _Gather:
    """Reads everything back; ``gaps`` fills while the files are taken."""

    def __init__(self, desk: Desk, ledger: Ledger) -> None:
        self._repo = desk.repo
        self._ledger = ledger
        self._in_hand: Tree = desk.repo.tree()
        self.gaps: list[str] = [f"{bad.path}: {bad.why}" for bad in ledger.unreadable]

    def files(self) -> Iterator[tuple[str, bytes]]:
        """Name and bytes of each."""
        for stored in self._ledger.records:
            yield from self._record(stored)
            if isinstance(stored.record, RevisionRecord):
                yield from self._programs(stored)
        yield from self._shops()
        for tag in self._repo.release_tags():
            if tag.data:
                yield f"{place_of(tag.ref.removeprefix('refs/'))}.tag", tag.data
            else:
                self.gaps.append(f"{tag.ref}: is no annotated tag; there is nothing in it to be kept")
        yield "signers.txt", "".join(sorted(set(_signers(self._ledger)))).encode("utf-8")

    def _record(self, stored: Stored) -> Iterator[tuple[str, bytes]]:
        tree = self._in_hand if stored.in_hand else self._repo.tree(stored.commit)
        data = tree.read(stored.path)
        if data is None:
            self.gaps.append(f"{stored.path}: cannot be read back")
            return
        yield f"records/{place_of(stored.path)}", data
        signature = tree.read(signature_path(stored.path))
        if signature is not None:
            yield f"records/{place_of(signature_path(stored.path))}", signature

    def _programs(self, stored: Stored) -> Iterator[tuple[str, bytes]]:
        found = revision_text(self._repo, stored)
        folder = f"programs/{stored.record.job}/{stored.record.operation}/{stored.name}"
        for program in found.programs:
            yield f"{folder}/{place_of(program.path)}", program.data
        for path in found.lost:
            self.gaps.append(
                f"{path} of {label(stored.name)}: the bytes the record names are not there any more"
            )
        sheet = None if stored.before else self._repo.tree(stored.text_commit).read(job_path_of(stored))
        if sheet is not None:
            yield f"{folder}/{place_of(job_path_of(stored))}", sheet

    def _shops(self) -> Iterator[tuple[str, bytes]]:
        for place, version in enumerate(sorted(self._ledger.shops, key=lambda one: one.order), start=1):
            data = self._repo.tree(version.commit).read(SHOP)
            if data is not None:
                yield f"shop/{place:04}-{version.commit[:12]}.toml", data


def _signers(ledger: Ledger) -> Iterator[str]:
    """A line a person and key that was ever listed: initials, so that a record's ``by`` finds it, and the key."""
    spaces = f'namespaces="{TAG_NAMESPACE},{NAMESPACE}"'
    for shop in (ledger.shop, *(version.shop for version in ledger.shops)):
        for person in shop.people:
            for said in person.keys:
                key = public_key(said)
                if not isinstance(key, str):
                    yield f"{person.initials} {spaces} {key_line(bytes.fromhex(key.blob))}\n"
