"""Every verb of the stick tells whoever looks at a terminal which file it is at, phase by phase."""

from contextlib import contextmanager

import pytest

from tests.fakes.shop_folder import ShopFolder
from tracker.cli import fast_files
from tracker.errors import BadCall
from tracker.services import identify
from tracker.stick import disk


class Told(list):
    """What was told, in order."""

    def __call__(self, what: str, done: int, total: int) -> None:
        self.append((what, done, total))

    @property
    def words(self) -> list[str]:
        return [what for what, _, _ in self]


@pytest.fixture
def shop(tmp_path, capsys, monkeypatch) -> ShopFolder:
    folder = tmp_path / "shop"
    folder.mkdir()
    made = ShopFolder(folder, capsys, monkeypatch)
    made.at("2026-02-02T09:00:00Z")
    made.begin()
    made.prove()
    made.run("release", "4471", "--by", "dg", "--yes")
    return made


@pytest.fixture
def stick(tmp_path):
    folder = tmp_path / "BLUE-1"
    folder.mkdir()
    return folder


@pytest.fixture
def told(monkeypatch) -> Told:
    seen = Told()

    @contextmanager
    def progress(*, hidden: bool = False):
        assert not hidden
        yield seen

    monkeypatch.setattr("tracker.cli.progress.progress", progress)
    return seen


def export(shop: ShopFolder, stick, *more: str) -> None:
    shop.run("export", "--machine", "MILL2", "--to", str(stick), "--by", "ss", *more)


def in_order(told: Told, *wanted: str) -> None:
    """These were told, one after the other."""
    left = iter(told.words)
    for words in wanted:
        assert words in left, f"{words!r} is not told, or not in its turn: {told.words}"


def test_export_tells_what_is_released_each_file_and_the_record(shop, stick, told):
    export(shop, stick, "--with-sheets")
    in_order(
        told,
        "reading the records",
        "looking up what is released of 4471",
        "gathering the programs",
        "shaping O1001.NC",
        "looking at what lies there",
        "looking at what else lies there",
        "setup sheet of 4471/op10",
        "recording the export",
        "naming MILL2/PROVEOUT.JSON",
        "writing through the names in MILL2",
    )
    written = [what for what in told.words if what.startswith(("writing MILL2", "reading back MILL2"))]
    for name in ("O1001.NC", "O1002.NC", "PROVEOUT.JSON"):
        assert [what for what in written if name in what] == [
            f"writing MILL2/{name}",
            f"reading back MILL2/{name}",
        ]


def test_an_export_reads_from_the_medium_what_lies_there_already(shop, stick, told, monkeypatch):
    export(shop, stick)
    forgot = []
    monkeypatch.setattr(disk, "_forget", forgot.append)
    monkeypatch.setattr(disk, "_set_out", lambda handle: None)
    monkeypatch.setattr(disk.FolderDisk, "read_back", _read_here)
    shop.run("collect", str(stick), "--dry-run")
    assert forgot == []
    told.clear()
    export(shop, stick)
    assert len(forgot) >= 3  # two programs and the list
    in_order(told, "reading MILL2/O1001.NC")


def _read_here(self, paths):
    return iter([self.digest(path) for path in paths])


def test_a_mirror_tells_what_it_takes_off(shop, stick, told):
    export(shop, stick)
    shop.run("hold", "4471/op10", "--by", "dg", "-m", "gauge out of calibration")
    told.clear()
    export(shop, stick, "--mirror")
    assert ("taking off MILL2/O1001.NC", 0, 2) in told
    assert ("taking off MILL2/O1002.NC", 1, 2) in told


def test_collect_tells_the_file_it_waits_for(shop, stick, told):
    export(shop, stick)
    (stick / "MILL2" / "NOTE.NC").write_bytes(b"%\nO7777\nG0 X1.\nM30\n%\n")
    told.clear()
    shop.run("collect", str(stick), "--by", "ss", status=1)
    in_order(
        told,
        "looking at the stick",
        "looking at MILL2/O1001.NC",
        "reading the records",
        "reading MILL2/NOTE.NC",
        "looking up MILL2/NOTE.NC",
        "reading MILL2/O1001.NC",
        "recording what came home",
    )
    assert ("reading MILL2/NOTE.NC", 0, 3) in told
    assert ("looking up MILL2/O1002.NC", 2, 3) in told


def test_identify_tells_each_file_and_how_much_of_a_long_one(shop, stick, told, monkeypatch):
    export(shop, stick)
    monkeypatch.setattr(fast_files, "PIECE", 100)
    monkeypatch.setattr(identify, "PIECE", 200)
    names = [str(stick / "MILL2" / name) for name in ("O1001.NC", "O1002.NC")]
    told.clear()
    shop.run("identify", *names, "--machine", "MILL2")
    assert (f"reading {names[0]}", 0, 2) in told
    assert (f"reading {names[1]}", 1, 2) in told
    assert (f"looking up {names[0]}", 0, 2) in told
    assert (f"looking up {names[1]}", 1, 2) in told
    for doing in ("reading", "looking up"):
        parts = [part for what, part, total in told if what.startswith(f"{doing} {names[0]},") and not total]
        assert parts == sorted(parts)
        assert len(parts) > 1


def test_identify_tells_how_much_of_a_file_it_does_not_hold_is_looked_up(shop, stick, told, monkeypatch):
    export(shop, stick)
    monkeypatch.setattr("tracker.services.collect_look.WHOLE", 100)
    monkeypatch.setattr(fast_files, "PIECE", 100)
    monkeypatch.setattr(fast_files, "CHUNK", 50)
    name = str(stick / "MILL2" / "O1001.NC")
    told.clear()
    shop.run("identify", name, "--machine", "MILL2")
    assert not [what for what, _, _ in told if what.startswith(f"reading {name},")]
    assert [part for what, part, total in told if what.startswith(f"looking up {name},") and not total]


def test_a_long_file_that_goes_away_before_it_is_read_is_a_wrong_call(tmp_path):
    assert fast_files.long_file(str(tmp_path / "GONE.NC"), 0) is None
    assert fast_files.long_file(str(tmp_path), 0) is None
    assert fast_files.long_file("-", 0) is None
    with pytest.raises(BadCall) as fault:
        list(fast_files.pieces_of(str(tmp_path / "GONE.NC"), 1, lambda *_: None))
    assert fault.value.name == "missing-file"


@pytest.mark.parametrize(
    ("words", "then"),
    [
        (("ran", "--lot", "A1"), ["recording the run"]),
        (
            ("prove", "--reject", "--cause", "program", "--yes"),
            ["reading the records", "comparing MILL2/O1001.NC"],
        ),
    ],
)
def test_a_stick_that_says_what_was_run_is_told_file_by_file(shop, stick, told, words, then):
    export(shop, stick)
    told.clear()
    verb, *more = words
    shop.run(verb, str(stick), "--by", "ss", *more)
    in_order(told, "reading the records", "looking at MILL2/O1001.NC", "reading MILL2/O1001.NC", *then)
    assert ("looking up MILL2/O1002.NC", 1, 2) in told
