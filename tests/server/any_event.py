"""What may happen in a year of `tests.server.any_year`: each takes the year and the clone it happens in."""

from collections.abc import Callable
from datetime import timedelta
from typing import TYPE_CHECKING

from tests.server.any_shop import AT, COMMON, MACHINES, POLICIES

if TYPE_CHECKING:
    from tests.server.any_year import Year


EDITS: dict[str, Callable[["Year"], dict[str, object]]] = {
    "words": lambda year: {"words": f"PART {year.lot.randrange(999)}"},
    "feed": lambda year: {"feed": year.lot.randrange(8, 30)},
    "slower": lambda year: {"feed2": year.lot.randrange(1, 13)},
    "cool": lambda year: {"cool": year.lot.choice((7, 8))},
    "reach": lambda year: {"reach": year.lot.randrange(3, 9)},
    "numbers": lambda year: {"renumbered": year.lot.random() < 0.5},
    "stick_out": lambda year: {"stick_out": year.lot.choice((2.0, 2.25, 2.5, 3.0))},
    "call": lambda year: {"call": year.lot.choice(("", "N90 M98 P8001\n"))},
    "machines": lambda year: {"machines": year.lot.choice(('"MILL1"', '"MILL2"', '"MILL1", "MILL2"'))},
    "drawing": lambda _: {},
    "common": lambda _: {},
}
"""What the programmer may change in the values of an operation; a drawing is of a job, a common program of many."""


def edit(year: "Year", name: str) -> None:
    """The programmer changes something, nearly always in a job of this clone's own, and checks it in."""
    job, op = year.any_op()
    if not year.is_own(name, job) and year.lot.random() < 0.9:
        return
    kind = year.lot.choice(list(EDITS))
    year.values[job, op] |= EDITS[kind](year)
    if kind == "drawing":
        year.drawing[job] = year.lot.choice("BCDEFG")
    elif kind == "common" and name == "a":
        more = year.lot.choice(("", "\nN25 G4 P1", "\nN25 M9"))
        year.clones[name].put("common/O8001.nc", COMMON.format(words=year.lot.randrange(999), more=more))
    year.write(year.clones[name], job)
    alone = kind not in ("common", "drawing") and year.lot.random() < 0.4
    by = year.someone(name, "programmer")
    year.call(
        name, "checkin", f"{job}/{op}" if alone else "--all", "-m", f"changed {kind}", "--by", by, "--yes"
    )


def back(year: "Year", name: str) -> None:
    job, op = year.any_op()
    rows = sorted((year.clones[name].folder / f"jobs/{job}/records/{op}").glob("r????-????????.toml"))
    if len(rows) > 1:
        number = int(year.lot.choice(rows[:-1]).name[1:5])
        year.call(
            name,
            "checkin",
            f"{job}/{op}",
            "--from",
            f"r{number}",
            "-m",
            "back again",
            "--by",
            year.someone(name, "programmer"),
            "--yes",
        )


def prove(year: "Year", name: str) -> None:
    job, op = year.any_op()
    words = [
        "prove",
        year.some_revision(name, job, op),
        "--machine",
        year.lot.choice(MACHINES),
        "--by",
        year.someone(name, "setup"),
        "--yes",
    ]
    way = year.lot.random()
    if way < 0.12:
        words += [
            "--reject",
            "--cause",
            year.lot.choice(("program", "setup", "machine", "tool", "material")),
            "--note",
            "bad",
        ]
        words += ["--answers", year.answers()]
    else:
        words += ["--accept", "--answers", year.answers()]
        words += ["--first-piece", year.lot.choice(("report 1", "report 2", "waiting"))]
    if 0.12 < way < 0.3:
        words += ["--tools", year.lot.choice(("4", "7", "4,7"))]
    elif way > 0.95:
        words += ["--again"]
    elif way > 0.9:
        words += ["--limit", "80 % feed"]
    elif way > 0.86:
        words += [
            "--at",
            (year.now - timedelta(hours=year.lot.randrange(1, 90))).strftime("%Y-%m-%dT%H:%M:%SZ"),
        ]
    year.call(name, *words)


def prior(year: "Year", name: str) -> None:
    job, op = year.any_op()
    year.call(
        name,
        "prove",
        year.some_revision(name, job, op),
        "--machine",
        year.lot.choice(MACHINES),
        "--by",
        year.someone(name, "setup"),
        "--yes",
        "--prior",
        "--evidence",
        "binder 3",
        "--last-run",
        f"{year.now - timedelta(days=year.lot.randrange(1, 300)):%Y-%m-%d}",
        "--accept",
    )


def measured(year: "Year", name: str) -> None:
    job, op = year.any_op()
    way = "--accept" if year.lot.random() < 0.7 else "--reject"
    year.call(
        name,
        "measured",
        year.some_revision(name, job, op),
        "--machine",
        year.lot.choice(MACHINES),
        "--report",
        "77",
        way,
        "--by",
        year.someone(name, "setup"),
        "-m",
        "measured",
        "--yes",
    )


def ran(year: "Year", name: str) -> None:
    job, op = year.any_op()
    more = ["--first-piece", "FP 9"] if year.lot.random() < 0.3 else []
    before, late = year.now - timedelta(hours=year.lot.randrange(1, 60)), year.lot.random()
    if late < 0.2:
        more += ["--at", before.strftime("%Y-%m-%dT%H:%M:%SZ")]
    elif late < 0.4:
        more += ["--date", f"{before:%Y-%m-%d}"]
    year.call(
        name,
        "ran",
        year.some_revision(name, job, op),
        "--machine",
        year.lot.choice(MACHINES),
        "--by",
        year.someone(name, "setup"),
        "--lot",
        f"L{year.lot.randrange(99)}",
        *more,
        "--yes",
    )


def review(year: "Year", name: str) -> None:
    job, op = year.any_op()
    year.call(
        name,
        "review",
        year.some_revision(name, job, op),
        "--by",
        year.someone(name, "programmer"),
        "-m",
        "looked at",
        "--yes",
    )


def countersign(year: "Year", name: str) -> None:
    job, op = year.any_op()
    year.call(
        name,
        "countersign",
        year.some_revision(name, job, op),
        "--machine",
        year.lot.choice(MACHINES),
        "--by",
        year.someone(name, "setup"),
        "-m",
        "watched",
        "--yes",
    )


def hold(year: "Year", name: str) -> None:
    job, op = year.any_op()
    scope = year.lot.choice(
        ([year.some_revision(name, job, op)], [job], ["--machine", "MILL2", "--because", "crash"])
    )
    year.call(name, "hold", *scope, "--by", year.someone(name, "setup"), "-m", "chatter", "--yes")


def lift(year: "Year", name: str) -> None:
    job, op = year.any_op()
    scope = year.lot.choice(
        (
            [f"{job}/{op}"],
            [job],
            ["--machine", "MILL2", "--check", "laser"],
            [year.some_release(name, job)],
        )
    )
    year.call(name, "lift", *scope, "--by", year.someone(name, "quality"), "-m", "put right", "--yes")


def release(year: "Year", name: str) -> None:
    year.call(name, "release", year.any_op()[0], "--by", year.someone(name, "quality"), "-m", "go", "--yes")


def withdraw(year: "Year", name: str) -> None:
    job, op = year.any_op()
    more = ["--op", op] if year.lot.random() < 0.3 else []
    year.call(
        name,
        "withdraw",
        year.some_release(name, job),
        *more,
        "--by",
        year.someone(name, "quality"),
        "-m",
        "grip too low",
        "--yes",
    )


def strike(year: "Year", name: str) -> None:
    folder = year.clones[name].folder
    rows = sorted(
        [
            *folder.glob("jobs/*/records/*/r*-*-*-*.toml"),
            *folder.glob("jobs/*/records/*/*Z-*.toml"),
            *folder.glob("records/*.toml"),
        ]
    )
    if rows:
        year.call(
            name,
            "strike",
            year.lot.choice(rows).name,
            "--by",
            year.lot.choice(AT[name]),
            "-m",
            "wrong",
            "--yes",
        )


def export(year: "Year", name: str) -> None:
    job, op = year.any_op()
    words = [
        "export",
        "--machine",
        year.lot.choice(MACHINES),
        "--to",
        str(year.place / "BLUE-1"),
        "--by",
        year.someone(name, "setup"),
        "--yes",
    ]
    way = year.lot.random()
    if way < 0.2:
        words += ["--for-proving", year.some_revision(name, job, op)]
    elif way < 0.35:
        words += [
            "--deviation",
            year.some_revision(name, job, op),
            "-m",
            "the customer's line stands still",
            "--lot",
            "L1",
        ]
        words[words.index("--by") + 1] = year.someone(name, "quality")
    elif way < 0.5:
        words += ["--mirror"]
    elif way < 0.6:
        words += [job]
    year.call(name, *words)


def collect(year: "Year", name: str) -> None:
    stick = year.place / "BLUE-1"
    texts = sorted(path for path in stick.rglob("*.NC"))
    edited = None
    if texts and year.lot.random() < 0.5:
        edited = year.lot.choice(texts)
        edited.write_bytes(edited.read_bytes().replace(b"X1. Y1. Z", b"X1.1 Y1. Z"))
    words = ["collect", str(stick), "--by", year.someone(name, "setup"), "--yes"]
    if edited is not None and year.lot.random() < 0.7:
        number = edited.stem[1:]
        for (job, op), values in year.values.items():
            if values["number"] == number and year.is_own(name, job):
                words += [
                    "--checkin",
                    f"{job}/{op}",
                    "-m",
                    "moved the hole",
                    year.lot.choice(("--cut", "--not-cut")),
                ]
                break
    year.call(name, *words)


def rule(year: "Year", name: str) -> None:
    """Quality changes shop.toml, in the first clone only."""
    if name != "a":
        return
    what = year.lot.choice(("policy", "group", "left"))
    if what == "policy":
        year.policy = year.lot.randrange(len(POLICIES))
    elif what == "group":
        year.group = not year.group
    else:
        year.left = year.lot.choice(("", "st"))
    year.clones[name].put("shop.toml", year.shop())
    year.call(name, "checkin", "shop.toml", "-m", f"another {what}", "--by", "dg", "--yes")


def pause(year: "Year", _: str) -> None:
    year.now += timedelta(days=year.lot.randrange(1, 40))


WHAT: tuple[tuple[Callable[["Year", str], None], int], ...] = (
    (edit, 9),
    (back, 1),
    (prove, 24),
    (prior, 2),
    (measured, 5),
    (ran, 6),
    (review, 5),
    (countersign, 4),
    (hold, 3),
    (lift, 5),
    (release, 8),
    (withdraw, 2),
    (strike, 2),
    (export, 6),
    (collect, 3),
    (rule, 1),
    (pause, 3),
)
"""Each with how likely it is."""
