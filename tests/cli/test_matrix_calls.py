"""Every verb called wrongly in a whole shop: the exit status, one clear error in words and as JSON, nothing written.

A cell says how the good call of a verb ends with one thing in it changed: the name of the error, ``0`` or ``1`` where
that is an answer like any other, ``.`` where the verb has no such thing.
"""

from pathlib import Path

import pytest

from tests.fakes import shop_faults as faults
from tests.fakes.busy_shop import BusyShop, ByteShop, good_calls
from tests.fakes.refusals import STATUS, contents, refused
from tracker.cli.verbs import VERBS

NAMES = """
verb         job              revision          machine          person          role
new          .                .                 unknown-machine  .               .
adopt        .                .                 .                .               .
checkin      unknown-job      .                 .                unknown-person  wrong-role
compare      unknown-job      unknown-revision  .                .               .
summary      unknown-job      unknown-revision  unknown-machine  .               .
verify       unknown-job      .                 unknown-machine  .               .
show         unknown-job      unknown-revision  .                .               .
status       unknown-job      .                 unknown-machine  .               .
sheet        unknown-job      unknown-revision  unknown-machine  .               .
export       unknown-job      unknown-revision  unknown-machine  unknown-person  0
prove        unknown-job      unknown-revision  unknown-machine  unknown-person  wrong-role
measured     unknown-job      unknown-revision  unknown-machine  unknown-person  wrong-role
ran          unknown-job      unknown-revision  unknown-machine  unknown-person  0
collect      .                .                 .                unknown-person  0
identify     .                .                 unknown-machine  .               .
review       unknown-job      unknown-revision  .                unknown-person  wrong-role
countersign  unknown-job      unknown-revision  unknown-machine  unknown-person  wrong-role
hold         unknown-job      unknown-revision  unknown-machine  unknown-person  0
lift         unknown-job      unknown-revision  unknown-machine  unknown-person  wrong-role
release      unknown-job      .                 .                unknown-person  wrong-role
withdraw     unknown-release  unknown-release   .                unknown-person  wrong-role
strike       .                .                 .                unknown-person  wrong-role
where        unknown-job      unknown-revision  .                .               .
history      unknown-job      .                 unknown-machine  unknown-person  .
report       unknown-job      .                 .                .               .
audit        .                .                 .                .               .
init         .                .                 .                .               .
install      .                .                 .                .               .
doctor       .                .                 .                .               .
demo         .                .                 .                .               .
share        .                .                 .                .               .
backup       .                .                 .                .               .
witness      .                .                 .                .               .
explain      .                .                 .                .               .
normalize    .                .                 .                .               .
fingerprint  .                .                 .                .               .
gate         .                .                 .                .               .
"""
FILES = """
verb         missing            folder             empty           binary          denied
new          missing-file       is-a-folder        no-code         0               no-permission
adopt        missing-file       is-a-folder        bad-csv         bad-csv         no-permission
checkin      unknown-job        unknown-job        unknown-job     unknown-job     unknown-job
compare      missing-file       is-a-folder        0               0               no-permission
summary      missing-file       is-a-folder        0               0               no-permission
verify       unknown-job        unknown-job        unknown-job     unknown-job     unknown-job
show         unknown-job        unknown-job        unknown-job     unknown-job     unknown-job
status       .                  .                  .               .               .
sheet        0                  is-a-folder        file-exists     file-exists     no-permission
export       no-stick           0                  no-stick        no-stick        no-stick
prove        missing-file       is-a-folder        no-code         not-whole       no-permission
measured     .                  .                  .               .               .
ran          unknown-job        nothing-of-ours    unknown-job     unknown-job     unknown-job
collect      no-stick           1+                 no-stick        no-stick        no-stick
identify     missing-file       is-a-folder        1               1               no-permission
review       .                  .                  .               .               .
countersign  .                  .                  .               .               .
hold         .                  .                  .               .               .
lift         .                  .                  .               .               .
release      .                  .                  .               .               .
withdraw     .                  .                  .               .               .
strike       unknown-record     unknown-record     unknown-record  unknown-record  unknown-record
where        .                  .                  .               .               .
history      .                  .                  .               .               .
report       0                  is-a-folder        file-exists     file-exists     no-permission
audit        .                  .                  .               .               .
init         inside-repository  inside-repository  is-a-file       is-a-file       is-a-file
install      no-such-folder     not-bare           no-such-folder  no-such-folder  no-such-folder
doctor       no-such-folder     not-bare           no-such-folder  no-such-folder  no-such-folder
demo         .                  not-empty          not-empty       not-empty       not-empty
share        .                  .                  .               .               .
backup       .                  .                  .               .               .
witness      .                  .                  .               .               .
explain      unknown-page       unknown-page       unknown-page    unknown-page    unknown-page
normalize    missing-file       is-a-folder        0               0               no-permission
fingerprint  missing-file       is-a-folder        0               0               no-permission
gate         .                  .                  .               .               .
"""
RECORDED = "1+"
"""It ends with 1, since a person has to decide something, and what was seen is recorded."""
READING = {"compare", "summary", "identify", "normalize", "fingerprint"}


def cells(text: str) -> list[tuple[str, str, str]]:
    """(what is wrong, verb, how it ends) of every cell that holds something."""
    head, *rows = [line.split() for line in text.strip().splitlines()]
    assert all(len(row) == len(head) for row in rows)
    return [
        (what, row[0], end) for row in rows for what, end in zip(head[1:], row[1:], strict=True) if end != "."
    ]


@pytest.fixture(scope="module")
def place(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("calls")


@pytest.fixture
def make(capsysbinary, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    return lambda folder: ByteShop(folder, capsysbinary, monkeypatch)


@pytest.fixture
def shop(place, make) -> ByteShop:
    """The busy shop, made once: nothing may be written there."""
    if not (place / "shop").exists():
        BusyShop(place / "kept").copy(place / "here", make)
        (place / "here").rename(place / "shop")
    found = make(place / "shop/shop")
    found.at("2026-02-10T09:00:00Z")
    return found


def call_with(shop: ByteShop, what: str, verb: str) -> list[str]:
    """The good call of a verb with one thing in it changed."""
    found = {
        "job": lambda: faults.with_job(shop, verb, "4499"),
        "revision": lambda: faults.with_revision(shop, verb),
        "machine": lambda: faults.with_option(shop, verb, "--machine", "MIL2"),
        "person": lambda: faults.with_option(shop, verb, "--by", "zz"),
        "role": lambda: faults.with_option(shop, verb, "--by", "vv"),
        "missing": lambda: faults.with_file(shop, verb, "loose/none.nc"),
        "folder": lambda: faults.with_file(shop, verb, "loose"),
        "empty": lambda: faults.with_file(shop, verb, faults.EMPTY),
        "binary": lambda: faults.with_file(shop, verb, faults.BINARY),
        "denied": lambda: faults.with_file(shop, verb, faults.UNKNOWN),
    }[what]()
    assert found is not None
    assert found != good_calls(shop)[verb]
    return found


@pytest.mark.parametrize("table", [NAMES, FILES])
def test_every_verb_is_in_the_table(table):
    assert {row.split()[0] for row in table.strip().splitlines()[1:]} == {verb.name for verb in VERBS}


@pytest.mark.parametrize(("what", "verb", "end"), cells(NAMES) + cells(FILES))
def test_cell(shop, make, tmp_path, monkeypatch, what, verb, end):
    records = end in ("0", RECORDED) and verb not in READING
    if records:
        shop = BusyShop(shop.folder.parent).copy(tmp_path / "here", make)
    words = call_with(shop, what, verb)
    before = contents(shop)
    with monkeypatch.context() as now:
        if what == "denied":
            faults.deny(now, shop.folder / faults.UNKNOWN)
        if end in STATUS:
            refused(shop, words, end)
        else:
            got, out, err = shop.call(*words)
            assert got == int(end.rstrip("+")), err
            assert out or (what, verb) == ("empty", "normalize")
    assert (contents(shop) != before) == records
