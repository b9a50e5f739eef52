"""What every stick carries of ours, by what exports and collects recorded.

An export wrote it there, or it or a collect saw it there: a stick copied from another, a file renamed on the control. A copy is
gone when an export took it off, wrote over it or missed it, when it came home missing or as another text of ours, and when what only
a collect had seen is not there at the next one. A record with a line through it takes nothing off a stick: what it said
was written or seen there is called in all the same, what it said was gone is not believed.

Nor does a record take off what it could not know: of two PCs that did not share, nobody can tell who had the stick last, and
the order of their records says nothing. What both put there is called in until one that knows of both saw the stick. And two
sticks may have one name: an export that found lists of ours on the stick it wrote to takes off only what exports put there
that these lists come from.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from tracker.policy.strikes import struck
from tracker.records.events import CollectRecord, ExportRecord, OnStick
from tracker.records.stored import Ledger
from tracker.services import collect_report as verdicts
from tracker.services.told_by_bytes import NOT_ITSELF, TAKEN_IN, Told, as_taken

_OPINIONS = NOT_ITSELF | {TAKEN_IN, verdicts.SAME_CODE}
"""Verdicts of a text whose bytes no record has as an export's or a revision's."""


@dataclass(slots=True, kw_only=True)
class Copy:
    """One text of ours on one stick.

    ``machine`` it went to, ``""`` where nobody can tell; ``purpose`` of the export that wrote these bytes, None where none
    did; ``changed``: it came home as something else than was written; ``seen``: no export wrote it there; ``under``: what
    lies there all the same, since the record that says this does was struck, or is another PC's. ``commit`` brought it in,
    ``off`` took it off; ``manifest`` is the list of the export that put it there, ``""`` where none did.
    """

    stick: str
    path: str
    file: OnStick
    machine: str
    purpose: str | None
    there: bool = True
    changed: bool = False
    seen: bool = False
    under: "Copy | None" = None
    commit: str = ""
    off: str = ""
    manifest: str = ""


def copies(ledger: Ledger) -> list[Copy]:
    """Every copy there ever was, in the order of the records."""
    return _shelf(ledger).every


def of_this_name(ledger: Ledger, stick: str, lists: Collection[str]) -> tuple[list[Copy], list[Copy]]:
    """What exports put on the stick of this name that carries these lists of ours, and what may lie on another one."""
    shelf = _shelf(ledger)
    shelf.lists = frozenset(lists)
    there = [one for one in shelf.every if one.there and one.stick.casefold() == stick.casefold()]
    own = {id(one) for one in there if lists and one.manifest and shelf.same_stick(one)}
    return [one for one in there if id(one) in own], [one for one in there if id(one) not in own]


def _shelf(ledger: Ledger) -> "_Shelf":
    shelf, gone = _Shelf(ledger.descends), struck(ledger)
    shelf.told = Told.ever(ledger)
    for stored in ledger.records:
        shelf.believed, shelf.commit = stored.path not in gone, stored.commit
        if isinstance(stored.record, ExportRecord):
            shelf.exported(stored.record)
        elif isinstance(stored.record, CollectRecord):
            shelf.collected(stored.record)
    return shelf


def lies_there(ledger: Ledger, stick: str) -> dict[str, OnStick]:
    """What the records say lies on a stick now, by path in lower case."""
    return {
        one.path.casefold(): one.file
        for one in copies(ledger)
        if one.there and not one.changed and one.stick.casefold() == stick.casefold()
    }


class _Shelf:
    """The sticks while the records are read."""

    def __init__(self, descends: Callable[[str, str], bool]) -> None:
        self.every: list[Copy] = []
        self.believed, self.commit = True, ""
        self._descends = descends
        self._now: dict[str, dict[str, Copy]] = {}
        self._last: dict[tuple[str, str, str], Copy] = {}
        self._wrote: dict[str, tuple[str, str]] = {}
        self.told = Told()
        self.lists: frozenset[str] = frozenset()
        self._came_from: dict[str, frozenset[str]] = {}
        self._led: tuple[frozenset[str], set[str]] = self.lists, set()

    def exported(self, record: ExportRecord) -> None:
        self.lists, manifest = frozenset(record.lists), record.manifest
        self._came_from[manifest] = self.lists
        for file in record.files:
            self._wrote[file.sha256] = record.machine, record.purpose
            self._put(
                Copy(
                    stick=record.stick,
                    path=file.path,
                    file=file,
                    machine=record.machine,
                    purpose=record.purpose,
                    manifest=manifest,
                )
            )
        here = self._on(record.stick)
        for file in (*record.removed, *record.missing):
            self._gone(here.get(file.path.casefold()))
        for file in record.found:
            machine, purpose = self._wrote.get(file.sha256, (record.machine, None))
            self._put(
                Copy(
                    stick=record.stick,
                    path=file.path,
                    file=file,
                    machine=machine,
                    purpose=purpose,
                    seen=True,
                    manifest=manifest,
                )
            )

    def collected(self, record: CollectRecord) -> None:
        self.lists = frozenset()
        here = self._on(record.stick)
        self._no_longer_seen(here.values(), record)
        for file in map(self._by_bytes, record.files):
            lies = list(_lying(here.get(file.path.casefold())))
            alike = next((one for one in lies if one.file.sha256 == file.sha256), None)
            self.lists = frozenset()
            if file.taken_as is not None and (alike is None or alike.file.revision != file.taken_as):
                self._taken(record, file, lies)
            elif file.verdict == verdicts.MISSING:
                self._gone(lies[0] if lies else None)
            elif alike is not None:
                self._not_the_other(alike, lies)
                self._made_of(record, file, lies)
            else:
                self._other(record, file, lies, here)
            self._of_another(record, file)

    def _other(self, record: CollectRecord, file: OnStick, lies: list[Copy], here: dict[str, Copy]) -> None:
        """Something else than the records have there; of another stick by this name it says nothing."""
        self.lists = frozenset(record.lists)
        if not lies:
            self._saw(record, file, here)
        elif file.revision is None or file.verdict in NOT_ITSELF:
            self._changed(lies)
            self._made_of(record, file, lies)
        else:
            self._saw(record, file, {})

    def _by_bytes(self, file: OnStick) -> OnStick:
        known = self.told.written.get(file.sha256)
        if known is not None:
            self._wrote.setdefault(file.sha256, (known[0].machine, known[0].purpose))
        return self.told.told(file)

    def _no_longer_seen(self, here: Collection[Copy], record: CollectRecord) -> None:
        """What an earlier collect saw in a folder that was looked at now, and is not there."""
        paths = {file.path.casefold() for file in record.files if file.verdict != verdicts.MISSING}
        folders = {_folder(file.path) for file in record.files}
        inside = "" if record.folder is None else f"{record.folder}/".casefold()
        # a path with its folder, as an export wrote it: the stick was looked at, and not one folder of it
        whole = not record.files or any(
            not one.seen and _folder(one.path) and one.path.casefold() in paths for one in here
        )
        for copy in here:
            path = copy.path.casefold()
            looked_at = path.startswith(inside) if inside else whole or _folder(path) in folders
            if copy.seen and looked_at and path.removeprefix(inside) not in paths:
                if inside:
                    self._off(copy)
                else:
                    self._gone(copy)

    def _not_the_other(self, alike: Copy, lies: Iterable[Copy]) -> None:
        """Of what two PCs put down apart from each other a collect that knows of both saw which it is."""
        for one in lies:
            if not (self._descends(one.commit, alike.commit) or self._descends(alike.commit, one.commit)):
                self._off(one)

    def _made_of(self, record: CollectRecord, file: OnStick, lies: Sequence[Copy]) -> None:
        """What an edit was made of by this collect is recalled with it, beside what lay there or an earlier one said."""
        if file.revision is not None and not any(one.there and _same_text(one.file, file) for one in lies):
            self._beside(record, lies[0].path, file, lies[0])

    def _of_another(self, record: CollectRecord, file: OnStick) -> None:
        """An edit that became a revision of another operation is that one too, beside what it was held against."""
        text, place = self.told.of_another(file), _place(record, file)
        lies = list(_lying(self._on(record.stick).get(place.casefold())))
        if text is not None and not any(_same_revision(one.file, text) for one in lies):
            self._beside(record, place, text, lies[0] if lies else None)

    def _beside(
        self, record: CollectRecord, path: str, file: OnStick, under: Copy | None, manifest: str = ""
    ) -> None:
        """Put down what is there beside what is ``under`` it: one text by two names."""
        self._put(
            Copy(
                stick=record.stick,
                path=path,
                file=file,
                machine=under.machine if under is not None else record.machine or "",
                purpose=None,
                changed=file.verdict in NOT_ITSELF,
                seen=True,
                under=under,
                manifest=manifest,
            )
        )

    def _changed(self, lies: Iterable[Copy]) -> None:
        """Something else came home than the last thing this record can know of."""
        known = next((one for one in lies if self._knows(one) and self.same_stick(one)), None)
        if known is not None:
            known.changed = True

    def _saw(self, record: CollectRecord, file: OnStick, here: dict[str, Copy]) -> None:
        """Something of ours no export wrote there; of a folder that is collected by itself the paths are short.

        A file whose long path was looked at too is another one. What is seen in a folder alone lies there beside what the
        records have in its place, and takes nothing off: the folder may be a copy.
        """
        if file.revision is None:
            return
        path, under = _place(record, file), None
        if record.folder is not None:
            lying = list(_lying(self._on(record.stick).get(path.casefold())))
            under = next(iter(lying), None)
            known = any(_same_text(one.file, file) for one in lying)
        else:
            known = _lies_deeper(record, file, here)
        if known:
            return
        last = self._last.get((record.stick.casefold(), path.casefold(), file.sha256))
        if (
            last is not None
            and not last.there
            and self._knows(last)
            and not self._descends(self.commit, last.off)
        ):
            return  # it lay there then, and another PC took it off
        machine, purpose = self._wrote.get(file.sha256, ("", None))
        self._put(
            Copy(
                stick=record.stick,
                path=path,
                file=file,
                machine=machine or record.machine or "",
                purpose=purpose,
                changed=file.verdict in NOT_ITSELF,
                seen=True,
                under=under,
            )
        )

    def _taken(self, record: CollectRecord, file: OnStick, lies: list[Copy]) -> None:
        """An edit that is a revision by now; it was made of what lay there, which is recalled with it."""
        if lies:
            self._changed(lies)
            self._made_of(record, file, lies)
        else:
            self._saw(record, file, {})
        path = _place(record, file)
        before = self._on(record.stick).get((lies[0].path if lies else path).casefold())
        self._beside(record, path, as_taken(file), before, before.manifest if before is not None else "")

    def _put(self, copy: Copy) -> None:
        here, place = self._on(copy.stick), copy.path.casefold()
        if copy.under is None:  # else both are there: one is what the other was made of
            self._gone(here.get(place))
            copy.under = next(_lying(here.get(place)), None)
        copy.commit = self.commit
        here[place] = copy
        self._last[copy.stick.casefold(), place, copy.file.sha256] = copy
        self.every.append(copy)

    def _gone(self, copy: Copy | None) -> None:
        for one in _lying(copy):
            self._off(one)

    def _off(self, copy: Copy) -> None:
        if self._knows(copy) and self.same_stick(copy):
            copy.there, copy.off = False, self.commit

    def _knows(self, copy: Copy) -> bool:
        """Whether the record in hand counts, and was made where it was known that the copy lies there."""
        return self.believed and self._descends(self.commit, copy.commit)

    def same_stick(self, copy: Copy) -> bool:
        """Whether nothing says that the copy lies on another stick of this name than the one with these lists."""
        if not (self.lists and copy.manifest):
            return True
        # written while one of these lay there: the export was cut off, or its folder taken off with its list
        if not self.lists.isdisjoint(self._came_from[copy.manifest]):
            return True
        return copy.manifest in self._led_from(self.lists)

    def _led_from(self, lists: frozenset[str]) -> set[str]:
        """These lists, those that lay where they were written, and so on."""
        if self._led[0] != lists:
            seen, todo = set(lists), list(lists)
            while todo:
                new = self._came_from.get(todo.pop(), frozenset()) - seen
                seen |= new
                todo += new
            self._led = lists, seen
        return self._led[1]

    def _on(self, stick: str) -> dict[str, Copy]:
        return self._now.setdefault(stick.casefold(), {})


def _lying(copy: Copy | None) -> Iterator[Copy]:
    """A copy and what is under it, as far as they are there."""
    while copy is not None:
        if copy.there:
            yield copy
        copy = copy.under


def _place(record: CollectRecord, file: OnStick) -> str:
    """Where a file lies on the stick, also where one folder of it was looked at."""
    return file.path if record.folder is None else f"{record.folder}/{file.path}"


def _lies_deeper(record: CollectRecord, file: OnStick, here: dict[str, Copy]) -> bool:
    """Whether a longer path that ends as the file's does has its text: the folder it is in was collected by itself.

    One that ends as the path of another file that was seen does is where that one lies.
    """
    short = "/" + file.path.casefold()
    ends = {
        end for one in record.files if (end := f"/{one.path.casefold()}").endswith(short) and end != short
    }
    return any(
        at != short[1:]
        and f"/{at}".endswith(short)
        and not f"/{at}".endswith(tuple(ends))
        and any(_same_text(each.file, file) for each in _lying(one))
        for at, one in here.items()
    )


def _same_text(one: OnStick, other: OnStick) -> bool:
    if _same_revision(one, other):
        return True
    # what an edit was made of its bytes do not say, nor of which of two revisions with its code a control's writing is
    opinions = other.verdict in _OPINIONS and one.verdict in _OPINIONS
    return one.sha256 == other.sha256 and not opinions


def _same_revision(one: OnStick, other: OnStick) -> bool:
    return (one.job, one.operation, one.revision) == (other.job, other.operation, other.revision)


def _folder(path: str) -> str:
    return path.casefold().rpartition("/")[0]
