"""The lists that lie on a stick: whether an export wrote them, and what they name that is not there.

A list is judged by its SHA-256 alone. One an export recorded here wrote may be read, to say what is missing; any
other is not believed in anything, and the records say what should be there.
"""

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from datetime import datetime

from tracker.errors import CouldNot
from tracker.policy.days import words, zone_of
from tracker.policy.find import label
from tracker.records.events import ExportRecord
from tracker.records.shop import Shop
from tracker.services import collect_report as verdicts
from tracker.services.collect_report import FileVerdict
from tracker.services.export_manifest import as_listed
from tracker.services.known import Known, KnownTexts
from tracker.services.paths import name_of
from tracker.services.ports_stick import (
    MANIFEST_NAME,
    PURPOSES,
    SUBFOLDERS,
    UNRELEASED,
    Listed,
    Manifest,
    Purpose,
    Seen,
)
from tracker.services.stick_view import Contents, Home, home_of, written

_UNDER_ANY_NAME = frozenset({verdicts.CHANGED_CODE, verdicts.SAME_CODE})
"""What is the program that was exported, whatever it is called now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lists:
    """What was found: verdicts on lists that are not in order and on files that are missing, and what is to be done."""

    verdicts: tuple[FileVerdict, ...] = ()
    asks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ListReader:
    """Reads the lists of one stick."""

    shop: Shop
    known: KnownTexts
    contents: Contents
    homes: Sequence[Home]
    now: datetime

    def stick(self) -> str | None:
        """The name of the stick by the newest true list on it."""
        true = [record for seen in self._manifests() if (record := self._record_of(seen)) is not None]
        return max(true, key=lambda record: record.entered).stick if true else None

    def true(self) -> tuple[str, ...]:
        """SHA-256 of the lists that an export wrote."""
        return tuple(
            record.manifest for seen in self._manifests() if (record := self._record_of(seen)) is not None
        )

    def read(self, stick: str, judged: Iterable[FileVerdict]) -> Lists:
        """Judge every list and name what is missing; ``judged``: the other files, so that a moved one is not missing."""
        judged = tuple(judged)
        hashes = {one.sha256 for one in judged if one.sha256}
        inside = self._elsewhere(stick, judged)
        found: list[FileVerdict] = []
        asks: list[str] = []
        for seen in self._manifests():
            verdict = self._judge(seen, stick)
            if verdict is not None:
                found.append(verdict)
                continue
            asks += self._copied(seen, stick)
            if (listed := self._read(seen)) is not None and listed.until <= self.now:
                day = words(listed.until.astimezone(zone_of(self.shop)).date())
                asks.append(
                    f"{written(seen.path)} was to be looked at again by {day}: export again before using it"
                )
        for home in (*self.homes, *self._gone(stick)):
            for purpose in PURPOSES:
                found += self._missing(home, purpose, stick, hashes, inside)
        return Lists(verdicts=tuple(found), asks=tuple(asks))

    def in_their_places(self, stick: str, judged: Iterable[FileVerdict]) -> Iterator[FileVerdict]:
        """The files, with what is to be said of one that lies where another program was exported to."""
        folded, listed = self.contents.shaper.folded, self._places(stick)
        for file in judged:
            was = listed.get(folded(file.path or ""))
            other = was is not None and file.fine and file.known is not None and _is_another(file.known, was)
            if was is None or not other:
                yield file
                continue
            name = f"{name_of(was.program)} of {was.job}/{was.operation} {label(was.revision)}"
            yield replace(
                file,
                aside=verdicts.PLACE,
                message=f"{file.message}; {name} was exported to this place",
            )

    def _elsewhere(self, stick: str, judged: Iterable[FileVerdict]) -> set[str]:
        """Programs (path in the repository) that came home under any name, or with others in one file.

        One in a place of its own stands for no other. Of one that several operations call any of these may be named.
        """
        listed = self._places(stick)
        found: set[str] = set()
        for one in judged:
            was = listed.get(self.contents.shaper.folded(one.path or ""))
            for part in one.programs:
                if part.known is None or not (one.parts or one.verdict in _UNDER_ANY_NAME):
                    continue
                if was is None or was.program != part.known.file.path:
                    found.add(part.known.file.path)
        return found

    def _places(self, stick: str) -> dict[str, Listed]:
        """What should lie in the folders of the machines, by its path (folded)."""
        folded = self.contents.shaper.folded
        listed: dict[str, Listed] = {}
        for home in self.homes:
            for purpose in PURPOSES:
                folder = self._folder(home, purpose)
                for one in self._listed(home, purpose, folder, stick):
                    listed[folded(f"{folder}/{one.file}" if folder else one.file)] = one
        return listed

    def _copied(self, seen: Seen, stick: str) -> Iterator[str]:
        """That a list is another stick's: what lies beside it was copied, and no export to this stick is recorded."""
        record = self._record_of(seen)
        if record is not None and record.stick.casefold() != stick.casefold():
            yield (
                f"{written(seen.path)} is the list of {record.stick}: it was copied to {stick}. Export to {stick}, "
                "so that it is called in when a text is"
            )

    def _gone(self, stick: str) -> list[Home]:
        """Folders of machines that exports to this stick wrote, and that are not there at all, or not by that name."""
        if any(not home.path for home in self.homes):
            return []
        there = {home.machine.id for home in self.homes}
        found = [Home(machine=machine, path=machine.folder_name) for machine in self.shop.machines]
        return [self._as_it_was(home, stick) for home in found if home.machine.id not in there]

    def _as_it_was(self, home: Home, stick: str) -> Home:
        """The folder the last export to this stick wrote into: shop.toml may name another one by now."""
        exports = self._exports(home, stick)
        return replace(home, path=(_wrote_into(exports[-1]) if exports else None) or home.path)

    def _read(self, seen: Seen) -> Manifest | None:
        """A list that an export wrote; None where it is another one by the time it is read."""
        try:
            data = self.contents.medium.read(seen.path)
        except CouldNot as fault:
            if fault.name != "unreadable-file":
                raise
            return None
        if hashlib.sha256(data).hexdigest() not in self.known.manifests:
            return None
        return self.contents.shaper.read_manifest(data)

    def _manifests(self) -> list[Seen]:
        return [seen for seen in self.contents.seen if self.contents.is_manifest(seen)]

    def _record_of(self, seen: Seen) -> ExportRecord | None:
        """The export that wrote exactly this list."""
        try:
            stored = self.known.manifests.get(self.contents.digest(seen.path))
        except CouldNot as fault:
            if fault.name != "unreadable-file":
                raise
            return None
        return stored.record if stored is not None and isinstance(stored.record, ExportRecord) else None

    def _judge(self, seen: Seen, stick: str) -> FileVerdict | None:
        """The verdict on a list; None for one in order."""
        said = FileVerdict(
            file=written(seen.path),
            verdict=verdicts.FORGED_MANIFEST,
            message="",
            path=seen.path,
            sha256=self.contents.digest_if_readable(seen.path),
        )
        record = self._record_of(seen)
        if said.sha256 is None:
            return replace(said, verdict=verdicts.DAMAGED, message="the list cannot be read")
        if record is None:
            return replace(
                said,
                message="no export recorded here wrote this list: changed, forged, or written from a clone that was "
                "never shared. It is not believed; the files are judged by their content.",
            )
        home = home_of(seen.path, self.homes)
        if (
            home is None
            or self._folder(home, record.purpose) != seen.folder
            or record.machine != home.machine.id
        ):
            former = self._former(seen, record) if home is None else None
            if former is not None:
                return replace(said, verdict=verdicts.STALE, message=former)
            return replace(
                said,
                verdict=verdicts.OTHER_MACHINE,
                message=f"the list of {record.machine}, {self._not_its_place(record)}",
            )
        newest = self._newest(home, record.purpose, stick)
        if newest is not None and newest.manifest != record.manifest:
            return replace(said, verdict=verdicts.STALE, message=self._older(record, newest, stick))
        return None

    def _former(self, seen: Seen, record: ExportRecord) -> str | None:
        """Of a list that lies where it was written, that the machine has another folder by now."""
        machine, folded = self.shop.machine(record.machine), self.contents.shaper.folded
        where = _wrote_into(record)
        if machine is None or where is None or folded(where) != folded(seen.path.partition("/")[0]):
            return None
        if folded(where) == folded(machine.folder_name):
            return None
        return f"the list of {machine.id} from when its folder was {where}; it is {machine.folder_name} now. Export again."

    def _not_its_place(self, record: ExportRecord) -> str:
        gone = self.shop.machine(record.machine) is None
        return "which is no machine of shop.toml any more" if gone else "in another folder"

    def _older(self, record: ExportRecord, newest: ExportRecord, stick: str) -> str:
        if record.stick.casefold() != stick.casefold():
            return (
                f"the list of {record.stick}, copied over the one an export to {stick} wrote. Export again."
            )
        return (
            f"the list of {self._day(record)}; a later export of {self._day(newest)} is recorded: it was cut off, or an "
            "older list was copied back. Export again."
        )

    def _missing(
        self,
        home: Home,
        purpose: Purpose,
        stick: str,
        hashes: AbstractSet[str],
        inside: AbstractSet[str],
    ) -> Iterator[FileVerdict]:
        """Files that should be there; ``inside``: programs that came home under any name, or with others in one file."""
        folder, folded = self._folder(home, purpose), self.contents.shaper.folded
        taken_off, apart = self._taken_off(home, purpose, stick), UNRELEASED.get(purpose)
        should = [
            (listed, path)
            for listed in self._listed(home, purpose, folder, stick)
            if (folded(path := f"{folder}/{listed.file}" if folder else listed.file), listed.sha256)
            not in taken_off
        ]
        if taken_off and all(listed.file == MANIFEST_NAME for listed, _ in should):
            return
        there = {folded(one.path) for one in self.contents.files(folder)}
        words = self._was_there(folder, stick)
        for listed, path in should:
            if folded(path) in there or listed.sha256 in hashes:
                continue
            if listed.program in inside:
                continue
            yield FileVerdict(
                file=written(path),
                verdict=verdicts.MISSING,
                job=listed.job or None,
                operation=listed.operation or None,
                revision=label(listed.revision) if listed.revision else None,
                sha256=listed.sha256,
                release=listed.release,
                message=f"{apart}: {words}" if apart and listed.job else words,
                unreleased=apart if listed.job else None,
            )

    def _was_there(self, folder: str, stick: str) -> str:
        """Why a file should be in a folder and is missing."""
        record = self._true_list(folder)[1]
        if record is not None and record.stick.casefold() != stick.casefold():
            return f"stands in the list of {record.stick} that was copied here, and is not there"
        return "was exported to this stick and is not there any more"

    def _taken_off(self, home: Home, purpose: Purpose, stick: str) -> frozenset[tuple[str, str]]:
        """Path (folded) and SHA-256 of what the last export of this purpose and later ones took off again."""
        since = self._newest(home, purpose, stick)
        if since is None:
            return frozenset()
        later = self._exports(home, stick)
        later = later[later.index(since) :]
        folded = self.contents.shaper.folded
        return frozenset((folded(file.path), file.sha256) for record in later for file in record.removed)

    def _listed(self, home: Home, purpose: Purpose, folder: str, stick: str) -> Sequence[Listed]:
        """What should be there: by the true list in the folder, else by the last export to this stick."""
        seen, written_by = self._true_list(folder)
        manifest = self._read(seen) if seen is not None and written_by is not None else None
        if manifest is not None:
            return manifest.files
        record = self._newest(home, purpose, stick)
        if record is None:
            return ()
        files = [as_listed(file) for file in record.files]
        own = Listed(
            file=MANIFEST_NAME,
            sha256=record.manifest,
            job="",
            operation="",
            revision="",
            fingerprint="",
            program="",
        )
        return [*files, own]

    def _true_list(self, folder: str) -> tuple[Seen | None, ExportRecord | None]:
        """The list in a folder, and the export that wrote it."""
        seen = self.contents.at(f"{folder}/{MANIFEST_NAME}" if folder else MANIFEST_NAME)
        return seen, self._record_of(seen) if seen is not None and seen.kind == "file" else None

    def _newest(self, home: Home, purpose: str, stick: str) -> ExportRecord | None:
        found = [record for record in self._exports(home, stick) if record.purpose == purpose]
        return found[-1] if found else None

    def _exports(self, home: Home, stick: str) -> list[ExportRecord]:
        """Exports to this stick for the machine, oldest first."""
        return [
            stored.record
            for stored in self.known.exports
            if isinstance(stored.record, ExportRecord)
            and stored.record.machine == home.machine.id
            and stored.record.stick.casefold() == stick.casefold()
        ]

    def _folder(self, home: Home, purpose: str) -> str:
        apart = next((folder for one, folder in SUBFOLDERS.items() if one == purpose), None)
        if apart is None:
            return home.path
        wanted = f"{home.path}/{apart}" if home.path else apart
        there = self.contents.at(wanted)
        return there.path if there is not None else wanted

    def _day(self, record: ExportRecord) -> str:
        return words(record.entered.astimezone(zone_of(self.shop)).date())


def _is_another(text: Known, was: Listed) -> bool:
    """Whether a text is another program than the one that was written, by its place in the office and its code.

    Of one operation only where its revision holds both; a program the office gave another place is no other.
    """
    if text.file.path == was.program or text.file.fingerprint == was.fingerprint:
        return False
    beside = (text.job, text.operation) == (was.job, was.operation)
    return not beside or any(file.path == was.program for file in text.record.files)


def _wrote_into(record: ExportRecord) -> str | None:
    """The machine's folder an export wrote into; None where it wrote no program."""
    return next((file.path.partition("/")[0] for file in record.files), None)
