"""Whatever is edited and checked in, in whatever order: the record is the text of the commit, nobody's bytes change."""

from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.fakes.repository import FakeRepository, desk_at
from tracker.errors import BadCall, Refused
from tracker.policy.find import newest
from tracker.services.changed import list_changes
from tracker.services.checkin import check_in
from tracker.services.naming import Named
from tracker.services.operation_text import operation_text

START = datetime(2026, 2, 2, 9, tzinfo=UTC)
SHOP = """format = 1
[shop]
name = "Test shop"
[[people]]
initials = "np"
name = "N"
email = "np@shop.example"
roles = ["programmer"]
[[machines]]
id = "M"
type = "mill"
units = "mm"
"""
OPERATIONS = (("1", "op10"), ("1", "op20"), ("2", "op10"))
FILES = (
    "jobs/1/op10/main.nc",
    "jobs/1/op20/main.nc",
    "jobs/2/op10/main.nc",
    "jobs/1/op10/a.nc",
    "jobs/1/sub/a.nc",
    "jobs/1/sub/b.nc",
    "jobs/2/op10/a.nc",
    "common/a.nc",
    "common/b.nc",
)
TEXTS = (
    *(f"O{number}\nG1 X{x}.\n{call}M99\n" for number in (7, 8) for x in (1, 2) for call in ("", "M98 P8\n")),
    "O1\nM98 P7\nM98 P8\nM30\n",
    "O1\nM98 P7\nM30\n",
    "O1\nG1 X3.\nM30\n",
)


def job(number, drawing, program):
    text = f'format = 1\n[job]\nnumber = "{number}"\ndrawing = "{drawing}"\n'
    for name in ("op10", "op20") if number == "1" else ("op10",):
        text += f'[[operations]]\nid = "{name}"\nprogram = "{name}/{program}.nc"\nmachines = ["M"]\n'
    return text


writes = st.tuples(st.sampled_from(FILES), st.sampled_from(TEXTS))
removals = st.tuples(st.sampled_from(FILES), st.none())
sheets = st.tuples(
    st.sampled_from(("1", "2")), st.sampled_from(("A", "B")), st.sampled_from(("main", "a"))
).map(lambda s: (f"jobs/{s[0]}/job.toml", job(*s)))
checkins = st.lists(st.sampled_from(OPERATIONS), min_size=1, max_size=2, unique=True)
rounds = st.tuples(
    st.lists(st.one_of(writes, writes, writes, removals, sheets), min_size=1, max_size=3), checkins
).map(lambda one: [*one[0], one[1]])
steps = st.lists(rounds, min_size=2, max_size=5).map(lambda many: [step for one in many for step in one])


@settings(max_examples=max(30, settings.default.max_examples // 4))
@given(steps=steps)
def test_the_record_is_the_text_of_the_commit(steps):
    repo = FakeRepository()
    repo.save({"shop.toml": SHOP})
    for number in ("1", "2"):
        repo.write(f"jobs/{number}/job.toml", job(number, "A", "main"))
    for path in FILES[:3]:
        repo.write(path, "O1\nM98 P7\nM98 P8\nM30\n")
    repo.write("common/a.nc", TEXTS[0])
    repo.write("common/b.nc", TEXTS[4])
    _check_in(repo, OPERATIONS, START)
    for place, step in enumerate(steps, 1):
        if isinstance(step, tuple):
            path, text = step
            repo.work.pop(path, None)
            if text is not None:
                repo.write(path, text)
            continue
        _check_in(repo, step, START + timedelta(minutes=place))


def _check_in(repo, names, at):
    desk = desk_at(repo, at, "np@shop.example")
    held, commits = dict(repo.work), len(repo.commits)
    try:
        report = check_in(desk, [Named(job=j, operation=o) for j, o in names], by="np", reason="x")
    except (BadCall, Refused):
        assert repo.work == held
        assert len(repo.commits) == commits
        return
    assert {path: data for path, data in repo.work.items() if "/records/" not in path} == {
        path: data for path, data in held.items() if "/records/" not in path
    }
    assert len(repo.commits) - commits == (report.commit is not None)
    _every_record_is_its_commit(repo)
    left = {(c.job.number, c.operation.id) for c in list_changes(desk).changes}
    assert not left & set(names)
    again = check_in(desk, [Named(job=j, operation=o) for j, o in names], by="np", reason="x")
    assert again.commit is None


def _every_record_is_its_commit(repo):
    ledger, tree = repo.ledger(), repo.tree()
    for number, name in OPERATIONS:
        found = newest(ledger, number, name)
        assert len(found) <= 1
        for stored in found:
            path = f"jobs/{number}/job.toml"
            made = tree.job(path)
            text = operation_text(tree, path, made, made.operation(name), ledger.shop)
            assert text.files == stored.record.files
            assert text.fingerprint == stored.record.operation_fingerprint
            assert set(text.findings) <= set(stored.record.findings)  # and what the checks found
            assert (number, name) in OPERATIONS
