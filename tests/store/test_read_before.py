"""A hook that remembers what it read decides on exactly the same records as one that reads all of them again."""

import zlib

import pytest

from tests.store.shop_repo import git, opened, write
from tracker import __version__
from tracker.cli.entry import main
from tracker.errors import CouldNot
from tracker.nc.identity import RULE_VERSION
from tracker.policy.book import part_of
from tracker.store import ledger
from tracker.store.moment import moment_here
from tracker.store.read_before import jobs_read_before, note_jobs_read

STRANGE = 'format = 1\nevent = "hold"\njob = "1002"\n'


@pytest.fixture
def shop(at_several_jobs):
    return at_several_jobs


def jobs_of(shop):
    return sorted({stored.record.job for stored in opened(shop).ledger().records} - {None})


def parts(shop, jobs):
    """The part of each job as a hook sees it, in one call."""
    here = moment_here()
    try:
        head = git(shop, "rev-parse", "HEAD")
        found = [here.ledger_of_job(head, job) for job in jobs]
        here.note_what_was_read()
    finally:
        here.close()
    return found


def same(one, other):
    return (one.shop, one.records, one.shops, one.unreadable) == (
        other.shop,
        other.records,
        other.shops,
        other.unreadable,
    )


def test_parts_are_those_of_the_whole_with_notes_and_without(shop):
    jobs = jobs_of(shop)
    assert len(jobs) == 3
    whole = opened(shop).ledger()
    wanted = [part_of(whole, job) for job in jobs]
    assert all(len(part.records) < len(whole.records) for part in wanted)
    for _ in range(3):
        assert all(map(same, parts(shop, jobs), wanted))
    assert set(jobs_read_before(str(shop / ".git")).values()) == set(jobs)
    assert same(parts(shop, [jobs[1]])[0], wanted[1])
    assert same(parts(shop, [jobs[1].upper()])[0], wanted[1])


def test_only_records_of_the_job_are_parsed_once_they_are_noted(shop, monkeypatch):
    jobs = jobs_of(shop)
    parts(shop, jobs[:1])
    parsed = []
    parse = ledger._parse

    def counted(data, path, *, keep):
        parsed.append(path)
        return parse(data, path, keep=keep)

    monkeypatch.setattr(ledger, "_parse", counted)
    part = parts(shop, jobs[:1])[0]
    assert len(parsed) == len({stored.path for stored in part.records})


def test_a_record_that_cannot_be_read_is_met_every_time(shop):
    jobs = jobs_of(shop)
    write(shop, f"jobs/{jobs[2]}/records/op10/r0001-x-hold.toml", STRANGE)
    git(shop, "add", ".")
    git(shop, "-c", "user.name=k", "-c", "user.email=k@x", "commit", "-qm", "strange")
    for _ in range(2):
        assert [len(part.unreadable) for part in parts(shop, jobs[:2])] == [1, 1]


def test_a_damaged_record_of_another_job_still_keeps_the_gate_closed(shop):
    jobs = jobs_of(shop)
    parts(shop, jobs)
    path = git(shop, "ls-tree", "-r", "--name-only", "HEAD", f"jobs/{jobs[2]}/records").splitlines()[0]
    blob = git(shop, "rev-parse", f"HEAD:{path}")
    for pack in (shop / ".git/objects/pack").glob("*.pack"):
        data = pack.read_bytes()
        pack.rename(shop / "aside.pack")
        git(shop, "unpack-objects", "-q", stdin=data)
    file = shop / ".git/objects" / blob[:2] / blob[2:]
    file.chmod(0o644)
    file.write_bytes(zlib.compress(b"blob 5\0other"))
    with pytest.raises(CouldNot) as fault:
        parts(shop, jobs[:1])
    assert fault.value.name == "damaged"


@pytest.mark.parametrize("note", ["", "0.0.0\nabc 4471\nend", "{version}\nabc 4471\n", "\xff"])
def test_a_note_that_is_not_whole_is_none(tmp_path, note):
    (tmp_path / "proveout").mkdir()
    text = note.replace("{version}", f"{__version__} {RULE_VERSION}")
    (tmp_path / "proveout/read-before").write_bytes(text.encode("latin-1"))
    assert jobs_read_before(str(tmp_path)) == {}


def test_what_is_noted_comes_back(tmp_path):
    assert jobs_read_before(str(tmp_path)) == {}
    note_jobs_read(str(tmp_path), {"a1": "4471", "b2": "plate no. 3", "c3": "two\nlines"})
    assert jobs_read_before(str(tmp_path)) == {"a1": "4471", "b2": "plate no. 3"}
    (tmp_path / "file").write_bytes(b"")
    note_jobs_read(str(tmp_path / "file"), {"a1": "4471"})


def test_the_gate_writes_the_note_when_it_opens(shop):
    row = git(shop, "for-each-ref", "--format=%(refname) %(objectname)", "refs/tags/release/").splitlines()[0]
    ref, tag = row.split()
    git(shop, "update-ref", "-d", ref)
    assert main(["gate", ref, "0" * 40, tag]) == 0
    assert jobs_read_before(str(shop / ".git"))
