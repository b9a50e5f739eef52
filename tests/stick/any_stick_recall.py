"""Whether a recall finds every stick: what was written or seen on one and lies there still is called in by who knows of it.

The lottery's own view of the sticks, of their bytes: a file counts as seen from the export that wrote it, or the export or collect
that looked where it lies, until it lies there no more. Which clone knows of that is told by the record of it in its tree.
"""

import hashlib
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

from tests.fakes.shop_folder import ShopFolder
from tests.stick.any_stick import JOBS, Sticks
from tracker.services.carriers import carriers
from tracker.wiring import open_desk

APART = {"for-proving": "FOR-PROVING", "deviation": "DEVIATION"}
LOOKED_INTO = ("changed-code", "incomplete", "damaged")


@dataclass(kw_only=True)
class Sighting:
    """One file as it lies on a stick, and the records that say so.

    ``made_of``: revisions a collect held it against, ``named``: what it was found to be, each with its record: record, job
    and revision.
    """

    stick: str
    path: Path
    data: bytes
    records: set[str] = field(default_factory=set)
    made_of: set[tuple[str, str, str]] = field(default_factory=set)
    named: set[tuple[str, str, str]] = field(default_factory=set)


class Recalls:
    """What was seen of the programs on the sticks."""

    def __init__(self, year: Sticks) -> None:
        self.year = year
        self.seen: dict[tuple[str, Path, bytes], Sighting] = {}
        self.records: set[str] = set()
        self.note()

    def note(self) -> None:
        """Take in what the newest step put down, or took off."""
        lies = {path: data for path, data in self.year.lies().items() if path.suffix == ".NC"}
        self.seen = {key: one for key, one in self.seen.items() if lies.get(one.path) == one.data}
        for shop in self.year.shops:
            for path in sorted((shop.folder / "records").rglob("*.toml")):
                name = path.relative_to(shop.folder).as_posix()
                if name not in self.records:
                    self.records.add(name)
                    self._record(name, tomllib.loads(path.read_text("utf-8")), shop, lies)

    def _record(self, name: str, record: dict, shop: ShopFolder, lies: dict[Path, bytes]) -> None:
        if record["event"] == "export":
            inside = Path(self._home(shop, record["machine"]))
            inside = inside / APART[record["purpose"]] if record["purpose"] in APART else inside
        elif record["event"] == "collect":
            inside = Path(record.get("folder") or ".")
        else:
            return
        stick = self.year.in_hand or record["stick"]  # whatever its record calls it
        # a stick that was copied may go by the other's name: who calls it so says that the other is as this one
        self.seen = {
            key: one
            for key, one in self.seen.items()
            if one.stick.casefold() != record["stick"].casefold()
            or one.path.is_relative_to(self.year.place / stick)
        }
        of = {one["path"].casefold(): one for one in record.get("files", ())}
        found = {one["path"]: one for one in record.get("found", ())}
        known = {each[key] for each in self.year.files([shop]) for key in ("fingerprint", "raw_sha256")}
        for path, data in lies.items():
            home = self.year.place / stick
            is_now = found.get(path.relative_to(home).as_posix()) if path.is_relative_to(home) else None
            if not path.is_relative_to(home / inside) and is_now is None:
                continue
            # a text nobody here has yet is put down by a collect alone
            marks = {self.year.code(data), hashlib.sha256(data).hexdigest()}
            if record["event"] == "export" and data not in self.year.wrote and marks.isdisjoint(known):
                continue
            one = self.seen.setdefault(
                (record["stick"].casefold(), path, data),
                Sighting(stick=record["stick"], path=path, data=data),
            )
            one.records.add(name)
            if is_now is not None:
                one.named.add((name, is_now["job"], is_now["revision"]))
            short = path.relative_to(home / (record.get("folder") or "."))
            judged = of.get(short.as_posix().casefold(), {})
            if "revision" in judged:
                self._judged(one, (name, judged["job"], judged["revision"]), judged.get("verdict"), shop)

    def _judged(
        self, one: Sighting, said: tuple[str, str, str], verdict: str | None, shop: ShopFolder
    ) -> None:
        if verdict in LOOKED_INTO:
            one.made_of.add(said)
            return
        one.named.add(said)
        if len({each[1:] for each in one.made_of}) > 1:
            # two PCs took it for an edit of two texts, apart from each other: one that knows of both says what it is
            one.made_of = {each for each in one.made_of if not (shop.folder / each[0]).exists()}

    def _home(self, shop: ShopFolder, machine: str) -> str:
        return next(
            one.get("folder", one["id"])
            for one in tomllib.loads((shop.folder / "shop.toml").read_text("utf-8"))["machines"]
            if one["id"] == machine
        )

    def hold(self) -> None:
        """Every clone calls in what it has a record of; raises Broken."""
        for shop in self.year.shops:
            known = [
                one
                for one in self.seen.values()
                if any((shop.folder / record).exists() for record in one.records)
            ]
            if known:
                self._hold(shop, known)

    def _hold(self, shop: ShopFolder, known: list[Sighting]) -> None:
        desk = open_desk(str(shop.folder))
        ledger = desk.repo.ledger()
        told: dict[tuple[str, str], set[tuple[str, str]]] = {}
        revisions = _revisions(shop)
        for job, one in revisions:
            mark = one["operation_fingerprint"]
            if (job, mark) not in told:
                told[job, mark] = {
                    (carrier.stick.casefold(), path.casefold())
                    for carrier in carriers(ledger, job, {mark}, desk.clock.now())
                    for path in carrier.files
                }
        for one in known:
            code, digest = self.year.code(one.data), hashlib.sha256(one.data).hexdigest()
            same = [
                (job, each)
                for job, each in revisions
                if code in _codes(each, job) or digest in _digests(each, job)
            ]
            if self._of_another(one, shop, revisions):
                continue
            if same and not any(
                self._named(one, told[job, each["operation_fingerprint"]]) for job, each in same
            ):
                raise self._missed(one, shop, [each["_name"] for _, each in same], "is")
            for _, job, name in (said for said in one.made_of if (shop.folder / said[0]).exists()):
                each = next((each for at, each in revisions if at == job and each["_name"] == name), None)
                if each is None or not self._edit_of(one.data, _codes(each, job)):
                    continue  # as a clone thought that had not shared
                if not self._named(one, told[job, each["operation_fingerprint"]]):
                    raise self._missed(one, shop, [name], "was made of")

    def _of_another(self, one: Sighting, shop: ShopFolder, revisions: list[tuple[str, dict]]) -> bool:
        """Whether this clone has put it down as a revision that was fetched, and is not brought together with its own yet."""
        names = {(job, each["_name"]) for job, each in revisions}
        return any(
            (shop.folder / record).exists() and (job, name) not in names for record, job, name in one.named
        )

    def _edit_of(self, data: bytes, codes: set[str]) -> bool:
        return data not in self.year.wrote and not codes.isdisjoint(self.year.was.get(data, ()))

    def _named(self, one: Sighting, told: set[tuple[str, str]]) -> bool:
        path = one.path.relative_to(self.year.place).as_posix().split("/", 1)[1].casefold()
        # or by the end of it, or a longer one, where what was looked at was no folder of a machine that could be told
        return any(
            stick == one.stick.casefold()
            and (f"/{path}".endswith(f"/{place}") or f"/{place}".endswith(f"/{path}"))
            for stick, place in told
        )

    def _missed(self, one: Sighting, shop: ShopFolder, revisions: list[str], how: str) -> AssertionError:
        path = one.path.relative_to(self.year.place)
        return self.year.broken(
            f"{path} (as {one.stick}) {how} {revisions}, and a recall at {shop.folder.name} does not find it; seen by {sorted(one.records)}"
        )


def _revisions(shop: ShopFolder) -> list[tuple[str, dict]]:
    return [
        (job, {**tomllib.loads(path.read_text("utf-8")), "_name": path.stem})
        for job in JOBS
        for path in sorted(shop.folder.glob(f"jobs/{job}/records/op10/r????-????????.toml"))
    ]


def _codes(record: dict, job: str) -> set[str]:
    return {file["fingerprint"] for file in record["files"] if job in file["path"]}


def _digests(record: dict, job: str) -> set[str]:
    return {file["raw_sha256"] for file in record["files"] if job in file["path"]}
