"""Every verb in a folder that is not as it should be: the exit status, one clear error, and nothing written.

A cell of the tables says how the call of a verb ends that ends well in a whole shop (`busy_shop.good_calls`):

============  ==================================================================================================
a name        the error of that name; its exit status is in STATUS
``0``         the fault is none of this verb's business: it does its work
``1 2 4``     the fault is part of the answer on standard output, and the exit status is this
``.``         the verb does not look at this shop at all
============  ==================================================================================================
"""

import shutil
from pathlib import Path

import pytest

from tests.fakes import shop_faults as faults
from tests.fakes.busy_shop import BusyShop, ByteShop, good_calls
from tests.fakes.refusals import STATUS, contents, refused
from tracker.cli.entry import FAST_VERBS
from tracker.cli.verbs import VERBS
from tracker.store.git import find_git

THE_REPOSITORY = """
verb         no_repository  no_git  shallow  detached       tags_on_files
new          no-repository  no-git  0        0              0
adopt        no-repository  no-git  shallow  0              0
checkin      no-repository  no-git  shallow  detached-head  0
compare      no-repository  no-git  shallow  0              0
summary      no-repository  no-git  shallow  0              0
verify       no-repository  no-git  0        0              0
show         no-repository  no-git  shallow  0              0
status       no-repository  no-git  shallow  0              0
sheet        no-repository  no-git  shallow  0              0
export       no-repository  no-git  shallow  detached-head  0
prove        no-repository  no-git  shallow  detached-head  0
measured     no-repository  no-git  shallow  detached-head  0
ran          no-repository  no-git  shallow  detached-head  0
collect      no-repository  no-git  shallow  detached-head  0
identify     no-repository  no-git  shallow  0              0
review       no-repository  no-git  shallow  detached-head  0
countersign  no-repository  no-git  shallow  detached-head  0
hold         no-repository  no-git  shallow  detached-head  0
lift         no-repository  no-git  shallow  detached-head  0
release      no-repository  no-git  shallow  detached-head  not-released
withdraw     no-repository  no-git  shallow  detached-head  0
strike       no-repository  no-git  shallow  detached-head  0
where        no-repository  no-git  shallow  0              0
history      no-repository  no-git  shallow  0              0
report       no-repository  no-git  shallow  0              0
audit        no-repository  no-git  shallow  0              1
init         .              no-git  .        .              .
install      no-repository  no-git  0        0              0
doctor       no-repository  no-git  1        1              1
demo         .              no-git  .        .              .
share        no-repository  no-git  shallow  detached-head  0
backup       no-repository  no-git  shallow  0              0
witness      unreachable    no-git  shallow  0              .
explain      0              0       0        0              0
normalize    0              0       0        0              0
fingerprint  0              0       0        0              0
gate         no-repository  no-git  shallow  0              gate-closed
"""
THE_SHOP_FILE = """
verb         no_shop  broken_shop  odd_shop         broken_jobs    odd_jobs
new          no-shop  broken-toml  wrong-shop-file  0              0
adopt        no-shop  broken-toml  wrong-shop-file  0              0
checkin      no-shop  broken-toml  wrong-shop-file  broken-toml    wrong-job-file
compare      no-shop  broken-toml  wrong-shop-file  0              0
summary      no-shop  broken-toml  wrong-shop-file  0              0
verify       no-shop  broken-toml  wrong-shop-file  broken-toml    wrong-job-file
show         no-shop  broken-toml  wrong-shop-file  0              0
status       no-shop  broken-toml  wrong-shop-file  2              2
sheet        no-shop  broken-toml  wrong-shop-file  0              0
export       no-shop  broken-toml  wrong-shop-file  0              0
prove        no-shop  broken-toml  wrong-shop-file  broken-toml    wrong-job-file
measured     no-shop  broken-toml  wrong-shop-file  0              0
ran          no-shop  broken-toml  wrong-shop-file  0              0
collect      no-shop  broken-toml  wrong-shop-file  0              0
identify     no-shop  broken-toml  wrong-shop-file  0              0
review       no-shop  broken-toml  wrong-shop-file  0              0
countersign  no-shop  broken-toml  wrong-shop-file  0              0
hold         no-shop  broken-toml  wrong-shop-file  0              0
lift         no-shop  broken-toml  wrong-shop-file  0              0
release      no-shop  broken-toml  wrong-shop-file  broken-toml    wrong-job-file
withdraw     no-shop  broken-toml  wrong-shop-file  0              0
strike       no-shop  broken-toml  wrong-shop-file  0              0
where        no-shop  broken-toml  wrong-shop-file  0              0
history      no-shop  broken-toml  wrong-shop-file  0              0
report       no-shop  broken-toml  wrong-shop-file  0              0
audit        no-shop  broken-toml  wrong-shop-file  1              1
init         .        .            .                .              .
install      0        0            0                0              0
doctor       1        1            1                1              1
demo         .        .            .                .              .
share        0        0            0                0              0
backup       0        0            0                0              0
witness      no-shop  broken-toml  wrong-shop-file  0              0
explain      0        0            0                0              0
normalize    0        0            0                0              0
fingerprint  0        0            0                0              0
gate         0        0            0                0              0
"""
THE_PROGRAMS = """
verb         edited             empty_programs     binary_programs    denied_programs  denied_head
new          0                  no-code            0                  no-permission    0
adopt        0                  0                  0                  0                no-permission
checkin      0                  no-code            0                  no-permission    no-permission
compare      0                  0                  0                  0                no-permission
summary      0                  0                  0                  0                no-permission
verify       1                  1                  0                  no-permission    0
show         0                  0                  0                  0                no-permission
status       0                  0                  0                  no-permission    no-permission
sheet        0                  0                  0                  no-permission    no-permission
export       0                  0                  0                  0                no-permission
prove        uncommitted-edits  uncommitted-edits  uncommitted-edits  no-permission    no-permission
measured     0                  0                  0                  0                no-permission
ran          0                  0                  0                  0                no-permission
collect      0                  0                  0                  0                no-permission
identify     0                  0                  0                  0                no-permission
review       0                  0                  0                  0                no-permission
countersign  0                  0                  0                  0                no-permission
hold         0                  0                  0                  0                no-permission
lift         0                  0                  0                  0                no-permission
release      not-released       not-released       not-released       no-permission    no-permission
withdraw     0                  0                  0                  0                no-permission
strike       0                  0                  0                  0                no-permission
where        0                  0                  0                  0                no-permission
history      0                  0                  0                  0                no-permission
report       0                  0                  0                  0                no-permission
audit        0                  0                  0                  0                no-permission
init         .                  .                  .                  .                .
install      0                  0                  0                  0                0
doctor       1                  1                  1                  1                1
demo         .                  .                  .                  .                .
share        0                  0                  0                  0                no-permission
backup       0                  0                  0                  0                no-permission
witness      0                  0                  0                  0                0
explain      0                  0                  0                  0                0
normalize    0                  0                  0                  no-permission    0
fingerprint  0                  0                  0                  no-permission    0
gate         0                  0                  0                  0                0
"""
READING = {
    "adopt",
    "compare",
    "summary",
    "verify",
    "show",
    "status",
    "sheet",
    "identify",
    "where",
    "history",
    "audit",
    "doctor",
    "explain",
    "normalize",
}
READING |= {"fingerprint"}


def cells(text: str) -> list[tuple[str, str, str]]:
    """(fault, verb, how it ends) of every cell."""
    head, *rows = [line.split() for line in text.strip().splitlines()]
    assert all(len(row) == len(head) for row in rows)
    return [(fault, row[0], end) for row in rows for fault, end in zip(head[1:], row[1:], strict=True)]


CELLS = sorted(cells(THE_REPOSITORY) + cells(THE_SHOP_FILE) + cells(THE_PROGRAMS))


@pytest.fixture(scope="module")
def world(tmp_path_factory) -> dict[str, Path]:
    """Where the busy shop and its faulty copies are kept while this file runs."""
    return {"top": tmp_path_factory.mktemp("matrix")}


@pytest.fixture
def make(capsysbinary, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    return lambda folder: ByteShop(folder, capsysbinary, monkeypatch)


@pytest.fixture
def faulty(world, make):
    """The shop with a fault: made once and used again, since nothing may be written there."""

    def get(fault: str) -> ByteShop:
        folder = world["top"] / fault
        if not folder.exists():
            shop = BusyShop(world["top"] / "whole").copy(folder, make)
            getattr(faults, fault)(shop)
        shop = make(folder / "shop")
        shop.at("2026-02-10T09:00:00Z")
        return shop

    return get


def test_every_verb_is_in_every_table():
    names = {verb.name for verb in VERBS} | FAST_VERBS
    for table in (THE_REPOSITORY, THE_SHOP_FILE, THE_PROGRAMS):
        assert {row.split()[0] for row in table.strip().splitlines()[1:]} == names


@pytest.mark.parametrize("verb", sorted(({verb.name for verb in VERBS} | FAST_VERBS) - {"demo"}))
def test_in_a_whole_shop_the_call_does_its_work(world, make, tmp_path, verb):
    shop = BusyShop(world["top"] / "whole").copy(tmp_path / "here", make)
    before = contents(shop)
    got, out, err = shop.call(*good_calls(shop)[verb])
    assert got == (1 if verb == "doctor" else 0), err
    assert out or verb == "gate"
    assert (contents(shop) == before) == (verb in READING)


@pytest.mark.parametrize(("fault", "verb", "end"), [cell for cell in CELLS if cell[2] != "."])
def test_cell(faulty, make, tmp_path, monkeypatch, fault, verb, end):
    shop = faulty(fault)
    if end == "0" and verb not in READING:
        shop = copied(shop, make, tmp_path / "here")
    words = good_calls(shop)[verb]
    before = contents(shop)
    with monkeypatch.context() as now:
        hinder(now, shop, fault)
        if end in STATUS:
            refused(shop, words, end)
        else:
            got, _, err = shop.call(*words)
            assert got == int(end), err
    if end != "0" or verb in READING:
        assert contents(shop) == before


def hinder(now: pytest.MonkeyPatch, shop: ByteShop, fault: str) -> None:
    """What holds only while the call is made."""
    if fault == "no_git":
        empty = shop.folder.parent / "no programs"
        now.setenv("PATH", str(empty))
    find_git.cache_clear()
    if fault == "denied_programs":
        faults.deny(now, *sorted((shop.folder / "jobs").glob("*/op10/*.nc")))
    if fault == "denied_head":
        faults.deny(now, shop.folder / ".git/HEAD")


def copied(shop: ByteShop, make, to: Path) -> ByteShop:
    shutil.copytree(shop.folder.parent, to, symlinks=True)
    return make(to / "shop")
