"""Every program text the record knows, to answer which revision a file is.

Looked up by bytes (SHA-256) and by code (fingerprint); numbers and names only say what a text might have been. A
fingerprint computed by other rules than today's is computed again from the stored bytes, never compared.
"""

import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from tracker.errors import CouldNot
from tracker.nc.dialect import VERBATIM, WORD_ADDRESS
from tracker.nc.identity import RULE_VERSION
from tracker.nc.scan import identity, identity_of_chunks
from tracker.policy.find import number_of
from tracker.records.events import ExportRecord, FileOf, OnStick, RevisionRecord
from tracker.records.stored import Ledger, Stored
from tracker.services.ports import Repository
from tracker.services.ports_stick import RELEASED, UNRELEASED, Listed


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """One program as one revision holds it."""

    stored: Stored
    record: RevisionRecord
    file: FileOf

    @property
    def job(self) -> str:
        """Job number."""
        return self.record.job or ""

    @property
    def operation(self) -> str:
        """Operation id."""
        return self.record.operation or ""

    @property
    def number(self) -> int:
        """5 of r5."""
        return number_of(self.stored.name)

    def lying_at(self, path: str) -> OnStick:
        """Its bytes as they were checked in, where no export wrote them."""
        return OnStick(
            path=path,
            sha256=self.file.raw_sha256,
            job=self.job,
            operation=self.operation,
            revision=self.stored.name,
            fingerprint=self.file.fingerprint,
            program=self.file.path,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Exported:
    """One file as one export wrote it."""

    stored: Stored
    record: ExportRecord
    file: OnStick


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What a file's content is: ``same_bytes`` are whole, ``same_code`` differ in what no control acts on.

    ``code``: its own fingerprint, where it was read and is written in the language of most controls.
    """

    sha256: str
    dialect: str
    code: str | None = None
    same_bytes: tuple[Known, ...] = ()
    same_code: tuple[Known, ...] = ()
    exported: tuple[Exported, ...] = ()

    @property
    def known(self) -> tuple[Known, ...]:
        """All revisions with this code."""
        return self.same_bytes + self.same_code


def unreleased(here: Sequence[Exported]) -> str | None:
    """What is said of bytes that went out for a prove-out or a deviation and never released; None for others."""
    purposes = [one.record.purpose for one in here]
    return None if not purposes or RELEASED in purposes else UNRELEASED.get(purposes[-1])


class KnownTexts:
    """The index; built once for a command."""

    def __init__(self, repo: Repository, ledger: Ledger) -> None:
        """Args: repo: for bytes of old rules. ledger: the records of every branch."""
        self._repo = repo
        self._by_raw: dict[str, list[Known]] = defaultdict(list)
        self._by_code: dict[tuple[bool, str], list[Known]] = defaultdict(list)
        self._by_number: dict[int, list[Known]] = defaultdict(list)
        self._by_name: dict[str, list[Known]] = defaultdict(list)
        self._of: dict[tuple[str, str], list[Known]] = defaultdict(list)
        self._has_strict = False
        self._strict_numbers: set[int | None] = set()
        self._old_rules: dict[tuple[bool, str], list[Known]] | None = None
        self._exported: dict[str, list[Exported]] = defaultdict(list)
        self._sent: dict[tuple[str | None, str | None], list[Exported]] = defaultdict(list)
        self.looked_into: dict[
            str, Known | None
        ] = {}  # by SHA-256, see `tracker.services.placing.code_known`
        self.manifests: dict[str, Stored] = {}
        self.papers: dict[str, OnStick] = {}
        self.texts: list[Known] = []
        self.exports: list[Stored] = []
        for stored in ledger.records:
            if isinstance(stored.record, RevisionRecord):
                self._add_revision(stored, stored.record)
            elif isinstance(stored.record, ExportRecord):
                self._add_export(stored, stored.record)

    def content(self, data: bytes) -> Found:
        """What these bytes are."""
        return self.content_of(lambda: (data,))

    def as_written(self, data: bytes) -> Found | None:
        """What bytes are that an export wrote, by the record of that export; None where the code has to be read.

        Nothing that lets a program run may rest on it: the record is believed, the code is not looked at.
        """
        return self.as_exported(hashlib.sha256(data).hexdigest())

    def as_exported(self, sha256: str) -> Found | None:
        """The same of bytes with this SHA-256."""
        exported = self.exported(sha256)
        known = self._by_code.get((False, exported[-1].file.fingerprint or ""), ()) if exported else ()
        if not known or any(one.file.number in self._strict_numbers for one in known):
            return None
        return Found(
            sha256=sha256,
            dialect=known[0].file.dialect,
            same_bytes=tuple(one for one in known if one.file.raw_sha256 == sha256),
            same_code=tuple(one for one in known if one.file.raw_sha256 != sha256),
            exported=exported,
        )

    def by_bytes_alone(self, sha256: str) -> Found:
        """What is known of a file whose code is not looked at."""
        return Found(
            sha256=sha256,
            dialect=VERBATIM,
            same_bytes=self.by_bytes(sha256),
            exported=self.exported(sha256),
        )

    def content_of(self, open_chunks: Callable[[], Iterable[bytes]]) -> Found:
        """What a file is that is read in pieces, more than once if need be; raises what reading raises."""
        plain = identity_of_chunks(open_chunks)
        prints = [(False, plain.fingerprint)]
        if self.asks_strict:
            prints.append((True, identity_of_chunks(open_chunks, strict=True).fingerprint))
        same_bytes = tuple(self._by_raw.get(plain.raw_sha256, ()))
        alike = [one for key in prints for one in self._by_code.get(key, ())]
        alike += [one for key in prints for one in self._judged_by_old_rules.get(key, ())]
        return Found(
            sha256=plain.raw_sha256,
            dialect=plain.dialect,
            code=plain.fingerprint if plain.dialect == WORD_ADDRESS else None,
            same_bytes=same_bytes,
            same_code=tuple(known for known in alike if known not in same_bytes),
            exported=self.exported(plain.raw_sha256),
        )

    @property
    def asks_strict(self) -> bool:
        """Whether any text is known by its strict fingerprint; asked once before several threads look things up."""
        return self._has_strict or bool(self._judged_by_old_rules)

    def exported(self, sha256: str) -> tuple[Exported, ...]:
        """Every export that wrote a file with these bytes."""
        return tuple(self._exported.get(sha256, ()))

    def exports_of(self, job: str | None, program: str | None) -> Sequence[Exported]:
        """Every export of a program, in the order of the records."""
        return self._sent.get((job, program), ())

    def all_exported(self) -> Iterator[Exported]:
        """Every file any export wrote, an export after the other."""
        for found in self._exported.values():
            yield from found

    def by_bytes(self, sha256: str) -> tuple[Known, ...]:
        """Every revision that holds a program with exactly these bytes."""
        return tuple(self._by_raw.get(sha256, ()))

    def by_code(self, fingerprint: str) -> Sequence[Known]:
        """Texts recorded with this fingerprint, of today's rules and none that keeps line numbers as code."""
        return self._by_code.get((False, fingerprint), ())

    @property
    def numbers(self) -> Sequence[int]:
        """Every O number a text is known under, the latest recorded first."""
        return tuple(reversed(self._by_number))

    def by_number(self, numbers: Iterable[int]) -> list[Known]:
        """Texts known under one of these O numbers."""
        return [known for number in dict.fromkeys(numbers) for known in self._by_number.get(number, ())]

    def by_name(self, name: str) -> Sequence[Known]:
        """Texts whose file in the repository has this name, whatever its case."""
        return self._by_name.get(name.casefold(), ())

    def by_mark(self, mark: str) -> list[Known]:
        """Texts a stamp with these 8 digits may stand in: the operation's own digits, or the program's."""
        opens = mark.lower()
        return [
            known
            for known in self.texts
            if known.file.fingerprint.startswith(opens)
            or known.record.operation_fingerprint.startswith(opens)
        ]

    def strange_mark(self, marks: Iterable[str]) -> str | None:
        """That a stamp names what is in no record here, in words; None where every one is known."""
        strange = next((mark for mark in marks if not self.by_mark(mark)), None)
        if strange is None:
            return None
        return f"Its id {strange} is in no record here: where another PC wrote it, proveout share first."

    def of(self, job: str | None, operation: str | None, program: str | None = None) -> list[Known]:
        """Texts of an operation, oldest first; ``program``: only those with this path."""
        found = self._of.get(((job or "").casefold(), (operation or "").casefold()), ())
        return [known for known in found if program in (None, known.file.path)]

    def in_another_language(self, file: OnStick | Listed) -> bool:
        """Whether a program an export wrote is no NC text in words and addresses, so that no stamp is in it."""
        texts = self.of(file.job, file.operation, file.program)
        return any(one.stored.name == file.revision and one.file.dialect == VERBATIM for one in texts)

    def bytes_of(self, known: Known) -> bytes:
        """The bytes of a text; raises CouldNot (``damaged``) where they are not there any more."""
        data = self._repo.tree(known.stored.text_commit).read(known.file.path)
        if data is None or hashlib.sha256(data).hexdigest() != known.file.raw_sha256:
            raise CouldNot(
                "damaged",
                f"the text of {known.job}/{known.operation} r{known.number} cannot be read back",
                where=known.file.path,
                fix="run proveout audit",
            )
        return data

    def _add_revision(self, stored: Stored, record: RevisionRecord) -> None:
        for file in record.files:
            known = Known(stored=stored, record=record, file=file)
            self.texts.append(known)
            self._by_raw[file.raw_sha256].append(known)
            self._by_name[file.name.casefold()].append(known)
            self._of[known.job.casefold(), known.operation.casefold()].append(known)
            if file.number is not None:
                self._by_number[file.number].append(known)
            if record.strict or record.rule_version != RULE_VERSION:
                self._strict_numbers.add(file.number)
            if record.rule_version == RULE_VERSION:
                self._by_code[record.strict, file.fingerprint].append(known)
                self._has_strict = self._has_strict or record.strict

    def _add_export(self, stored: Stored, record: ExportRecord) -> None:
        self.exports.append(stored)
        self.manifests[record.manifest] = stored
        self.papers.update((paper.sha256, paper) for paper in record.papers)
        for file in record.files:
            exported = Exported(stored=stored, record=record, file=file)
            self._exported[file.sha256].append(exported)
            self._sent[file.job, file.program].append(exported)

    @property
    def _judged_by_old_rules(self) -> dict[tuple[bool, str], list[Known]]:
        """Texts recorded under other rules, under the fingerprints today's rules give their bytes."""
        if self._old_rules is None:
            self._old_rules = defaultdict(list)
            for known in self.texts:
                if known.record.rule_version == RULE_VERSION:
                    continue
                try:
                    data = self.bytes_of(known)
                except CouldNot:  # a text that is lost is known by its bytes alone
                    continue
                fingerprint = identity(data, strict=known.record.strict).fingerprint
                self._old_rules[known.record.strict, fingerprint].append(known)
        return self._old_rules
