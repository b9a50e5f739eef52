"""Faults put into a whole program of the sample shop: each is found by itself, and all of them together."""

import pytest

from tests.checks.subjects import reasons, sample
from tracker.checks.check import check

# what is changed in O1001 of 4471/op10, and the rule that has to tell, on the line it stands on
SEEDED = (
    ("N10 G20\n", "N10\n", "no-units"),
    ("N60 G43 H1 Z1.", "N60 Z1.", "no-length-offset"),
    ("N190 G43 H2", "N190 G43 H3", "h-not-tool"),
    ("N40 T2\n", "N40 T3\n", "precall-wrong"),
    ("N170 T3\n", "", "no-precall"),
    ("N290 G91 G28 Z0.\nN300 G90", "N290 G90 G28 Z0.\nN300 G90", "home-by-work-point"),
    ("G54 X-0.75 Y-0.75 S6000", "G54 X-0.75 Y-0.75 S9000", "speed-over-limit"),
    ("G54 X0.625 Y0.625 S3000 M3\nN510", "G55 X0.625 Y0.625 S3000 M3\nN510", "offset-not-on-sheet"),
    ("N530 X3.375", "N530 X3375", "bare-number"),
    ("N350 Z0.15", "N350 Z0.06", "rapid-near-part"),
    ("N520 G98 G83", "N520 G99 G83", "cycle-retract-low"),
    ("Z-0.85 R0.1 Q0.1", "Z0.85 R0.1 Q0.1", "cycle-z-above-r"),
    ("N670 G80\n", "", "cycle-not-cancelled"),
    ("N700 G91 G28 Z0.\nN710 G90\n", "N700 G91 G28 Z0.\n", None),
    ("N740 G0 G17 G40 G80 G90", "N740 G0 G17 G40 G80", "g91-left-on"),
    (
        "N180 G0 G17 G40 G80 G90 G54 X0.625 Y0.625 S3000 M3",
        "N180 G0 G17 G40 G80 G90 G54 X0.625 Y0.625 S3000",
        "no-spindle",
    ),
    ("N800 M5\n", "N800 M5\n(N801 G1 Z-0.6 F10.)\n", "code-in-comment"),
    ("N810 G91 G28 Z0.\nN820 G28 Y0.", "N810 G91 G28 Y0.\nN820 G28 Z0.", "home-before-z"),
    ("N840 M30", "N840 M99", "main-m99"),
)


def seeded(text: str, *faults: tuple[str, str, str | None]) -> str:
    for old, new, _ in faults:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


@pytest.fixture
def clean(project) -> str:
    return sample(project, "4471", "op10").main.data.decode("latin-1").replace("\r\n", "\n")


def rules_found(project, text: str) -> dict[str, list[int | None]]:
    found: dict[str, list[int | None]] = {}
    result = check(sample(project, "4471", "op10", {"O1001.nc": text.encode("latin-1")}))
    for one in result.findings:
        found.setdefault(one.rule, []).append(one.line)
    return found


def test_the_program_without_faults_has_no_finding(project, clean):
    assert len(clean.splitlines()) > 80
    assert rules_found(project, clean) == {}


def test_all_at_once(project, clean):
    wanted = {rule for _, _, rule in SEEDED if rule}
    assert len(wanted) >= 16
    found = rules_found(project, seeded(clean, *SEEDED))
    assert wanted - found.keys() == set()


SINGLE = [one for one in SEEDED if one[2] not in (None, "g91-left-on")]


@pytest.mark.parametrize("fault", SINGLE, ids=[str(one[2]) for one in SINGLE])
def test_each_by_itself_and_where_it_stands(project, clean, fault):
    old, _, rule = fault
    found = rules_found(project, seeded(clean, fault))
    assert rule in found
    first = clean[: clean.index(old)].count("\n") + 1
    assert all(line is not None and line >= first - 1 for line in found[rule])


def test_a_home_return_that_leaves_g91_on(project, clean):
    """The G90 of the next tool is missing too: found on the first move of that tool."""
    both = [one for one in SEEDED if one[2] in (None, "g91-left-on")]
    text = seeded(clean, *both)
    (line,) = rules_found(project, text)["g91-left-on"]
    assert text.splitlines()[line - 1].startswith("N740")


@pytest.mark.parametrize("fault", [one for one in SEEDED if one[2] is None])
def test_g91_that_the_next_tool_ends_is_no_finding(project, clean, fault):
    assert rules_found(project, seeded(clean, fault)) == {}


@pytest.mark.parametrize(
    ("text", "operation"),
    [*((f"O1001-r{number}", ("4471", "op10")) for number in range(1, 6)), ("O1201-r1", ("4502", "op10"))],
)
def test_earlier_texts_of_the_sample_shop_have_no_finding(project, text, operation):
    data = (project / "sample_repo/texts" / f"{text}.nc").read_bytes()
    result = check(sample(project, *operation, {f"{text.partition('-')[0]}.nc": data}))
    assert (result.findings, reasons(result)) == ((), set())
