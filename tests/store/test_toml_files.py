import tomllib
from pathlib import Path

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from tests.fakes.sample import JOB, SHOP
from tracker.errors import BadCall, CouldNot, Exit
from tracker.records.problems import Problem
from tracker.store.toml_files import load_job, load_record, load_shop, problem_error, toml_mapping, toml_text
from tracker.store.toml_lines import line_of, lines_of

JOB_PATH = "jobs/4471/job.toml"
SAMPLES = Path(__file__).parents[2] / "sample_repo"


def test_good_files_load():
    assert load_shop(SHOP.encode(), "shop.toml").machine("MILL2").pockets == 20
    assert load_job(JOB.encode(), JOB_PATH).number == "4471"
    assert load_job(JOB.replace("\n", "\r\n").encode(), JOB_PATH) == load_job(JOB.encode(), JOB_PATH)


def test_a_byte_order_mark_is_passed_over():
    assert load_shop(b"\xef\xbb\xbf" + SHOP.encode(), "shop.toml") == load_shop(SHOP.encode(), "shop.toml")


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("**/job.toml")), ids=str)
def test_the_jobs_of_the_sample_shop_load(path):
    assert load_job(path.read_bytes(), f"jobs/{path.parent.name}/job.toml").number == path.parent.name


def test_one_mistake_names_its_line_and_fix():
    text = SHOP.replace("pockets = 20", "pocket = 20")
    with pytest.raises(BadCall) as caught:
        load_shop(text.encode(), "shop.toml")
    line = text.splitlines().index("pocket = 20") + 1
    assert caught.value.exit == Exit.BAD_CALL
    assert caught.value.name == "wrong-shop-file"
    assert caught.value.where == f"shop.toml:{line}"
    assert "did you mean pockets?" in caught.value.fix
    assert caught.value.reasons == ()


def test_all_mistakes_are_listed_in_the_order_of_the_file():
    text = JOB.replace("stick_out = 1.25", "stick_out = -1.25").replace('drawing = "4471"', "drawing = 4471")
    text = text.replace('rule = "stick-out"', 'rule = "*"')
    with pytest.raises(BadCall) as caught:
        load_job(text.encode(), JOB_PATH)
    lines = [
        text.splitlines().index(row) + 1 for row in ("drawing = 4471", "stick_out = -1.25", 'rule = "*"')
    ]
    assert caught.value.name == "wrong-job-file"
    assert caught.value.where == f"{JOB_PATH}:{lines[0]}"
    assert [one.split(": ")[0] for one in caught.value.reasons] == [f"{JOB_PATH}:{line}" for line in lines]


def test_a_program_outside_the_repository_is_told_from_one_in_common():
    assert load_job(JOB.encode(), JOB_PATH).operations[2].program == "../../common/O1003.nc"
    with pytest.raises(BadCall) as caught:
        load_job(JOB.replace("../../common", "../../../common").encode(), JOB_PATH)
    assert "outside the repository" in caught.value.what


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("[shop\nname = 1\n", 1),
        ("[shop]\nname = \n", 2),
        ("[shop]\n\n\nname = 'x\n", 4),
        ("[shop]\nname = 'a'\nname = 'b'\n", 3),
        ("a = [\n1,\n", 2),
        ("a = 1\n[a]\n", 2),
        ("a = 1\rb = 2\n", 1),
    ],
)
def test_broken_toml_names_the_line(text, line):
    with pytest.raises(BadCall) as caught:
        load_shop(text.encode(), "shop.toml")
    assert caught.value.name == "broken-toml"
    assert caught.value.where == f"shop.toml:{line}"
    assert caught.value.fix


@pytest.mark.parametrize("text", ["a = " + "[" * 5000 + "]" * 5000, "a = " + "9" * 5000])
def test_what_no_reader_takes_is_a_clear_error_too(text):
    with pytest.raises(BadCall) as caught:
        load_shop(text.encode(), "shop.toml")
    assert caught.value.name == "broken-toml"


def test_text_that_is_no_utf_8_names_the_line_and_the_byte():
    with pytest.raises(BadCall) as caught:
        load_shop(b'[shop]\nname = "Bench' + b"\xe4" + b'"\n', "shop.toml")
    assert caught.value.name == "not-utf8"
    assert caught.value.where == "shop.toml:2"
    assert "E4" in caught.value.what


def test_utf_16_is_told_from_utf_8():
    with pytest.raises(BadCall) as caught:
        toml_text(SHOP.encode("utf-16"), "shop.toml")
    assert caught.value.name == "not-utf8"


@pytest.mark.parametrize("data", [b"format = ", b"\xff", b"", b"format = 1\nevent = 'hold'\n"])
def test_a_damaged_record_says_nothing_certain(data):
    with pytest.raises(CouldNot) as caught:
        load_record(data, "records/x.toml")
    assert caught.value.name == "damaged-record"
    assert caught.value.where.startswith("records/x.toml")


def test_a_newer_record_is_told_from_a_damaged_one():
    with pytest.raises(CouldNot) as caught:
        load_record(b"format = 2\nevent = 'hold'\n", "records/x.toml")
    assert caught.value.name == "newer-record"
    assert caught.value.where == "records/x.toml"


def test_problems_found_elsewhere_get_their_line():
    problem = Problem(("operations", 2, "machines", 0), "unknown machine", "fix it")
    fault = problem_error("unknown-machine", JOB.encode(), JOB_PATH, [problem])
    assert fault.where == f"{JOB_PATH}:{JOB[: JOB.rindex('machines = ')].count(chr(10)) + 1}"


LINES = """\
# remark [not.a.table]
top = 1
"quoted key" . 'dotted' = "x # no remark"
list = [ 1, # remark ]
  [2, 3],
  { a = 1, b = ["x", "y"] },
]
multi = \"\"\"
[fake]
fake = 1
\"\"\"
raw = '''
[[fake]]'''
[table]
key = { inner = { deep = [
  1 ] } }
[table.sub]
x = 1
[[rows]]
x = 1
[rows.one]
y = 1
[[rows.many]]
z = 1
[[rows.many]]
z = 2
[[rows]]
x = 2
[[rows.many]]
z = 3
"""
PLACES = {
    ("top",): 2,
    ("quoted key", "dotted"): 3,
    ("list",): 4,
    ("list", 0): 4,
    ("list", 1): 5,
    ("list", 1, 1): 5,
    ("list", 2, "b", 1): 6,
    ("multi",): 8,
    ("raw",): 12,
    ("table",): 14,
    ("table", "key", "inner", "deep"): 15,
    ("table", "key", "inner", "deep", 0): 16,
    ("table", "sub", "x"): 18,
    ("rows", 0): 19,
    ("rows", 0, "x"): 20,
    ("rows", 0, "one", "y"): 22,
    ("rows", 0, "many", 0, "z"): 24,
    ("rows", 0, "many", 1): 25,
    ("rows", 1): 27,
    ("rows", 1, "many", 0, "z"): 30,
}


@pytest.mark.parametrize(("path", "line"), PLACES.items(), ids=str)
def test_the_line_of_a_key(path, line):
    tomllib.loads(LINES)
    assert lines_of(LINES)[path] == line
    assert line_of(lines_of(LINES.replace("\n", "\r\n")), path) == line


def test_what_has_no_line_has_that_of_what_is_around_it():
    lines = lines_of(LINES)
    assert ("fake",) not in lines
    assert line_of(lines, ("rows", 1, "missing")) == 27
    assert line_of(lines, ("missing",)) == 1


KEYS = st.text(st.characters(blacklist_categories=("Cs", "Cc")), min_size=1, max_size=5)
VALUES = st.recursive(
    st.integers(-9, 9) | st.booleans() | st.text(st.characters(blacklist_categories=("Cs",)), max_size=6),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=12,
)


@given(st.dictionaries(KEYS, VALUES, max_size=4), st.booleans())
def test_every_path_of_any_file_is_found_on_a_line_that_names_it(mapping, multiline):
    text = tomli_w.dumps(mapping, multiline_strings=multiline)
    assert toml_mapping(text, "x") == tomllib.loads(text)
    lines = lines_of(text)
    rows = text.split("\n")
    for path in _paths(tomllib.loads(text), ()):
        assert path in lines
        key = path[-1]
        if isinstance(key, str) and key.isascii() and key.isalnum():
            assert key in rows[lines[path] - 1]


def _paths(value, path):
    if path:
        yield path
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, held in inside:
        yield from _paths(held, (*path, key))
