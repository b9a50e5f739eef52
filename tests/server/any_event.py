"""What may happen in a year of `tests.server.any_year`: each takes the year and the clone it happens in."""

import shlex
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


def does(year: "Year", name: str, role: str, line: str, *more: str) -> None:
    """A call as somebody types it who mostly has that role."""
    year.call(name, *shlex.split(line), *more, "--by", year.someone(name, role), "--yes")


def text(year: "Year", name: str) -> str:
    """A revision of some operation."""
    return year.some_revision(name, *year.any_op())


def machine(year: "Year") -> str:
    return f"--machine {year.lot.choice(MACHINES)}"


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
    does(year, name, "programmer", f"checkin {f'{job}/{op}' if alone else '--all'} -m 'changed {kind}'")


def back(year: "Year", name: str) -> None:
    job, op = year.any_op()
    rows = sorted((year.clones[name].folder / f"jobs/{job}/records/{op}").glob("r????-????????.toml"))
    if len(rows) > 1:
        number = int(year.lot.choice(rows[:-1]).name[1:5])
        does(year, name, "programmer", f"checkin {job}/{op} --from r{number} -m 'back again'")


def prove(year: "Year", name: str) -> None:
    way, more = year.lot.random(), ["--answers", year.answers()]
    if way < 0.12:
        cause = year.lot.choice(("program", "setup", "machine", "tool", "material"))
        more += ["--reject", "--cause", cause, "--note", "bad"]
    else:
        more += ["--accept", "--first-piece", year.lot.choice(("report 1", "report 2", "waiting"))]
    if 0.12 < way < 0.3:
        more += ["--tools", year.lot.choice(("4", "7", "4,7"))]
    elif way > 0.95:
        more += ["--again"]
    elif way > 0.9:
        more += ["--limit", "80 % feed"]
    elif way > 0.86:
        more += ["--at", year.earlier(90)]
    does(year, name, "setup", f"prove {text(year, name)} {machine(year)}", *more)


def prior(year: "Year", name: str) -> None:
    last = f"{year.now - timedelta(days=year.lot.randrange(1, 300)):%Y-%m-%d}"
    paper = f"--prior --evidence 'binder 3' --last-run {last} --accept"
    does(year, name, "setup", f"prove {text(year, name)} {machine(year)} {paper}")


def measured(year: "Year", name: str) -> None:
    way = "--accept" if year.lot.random() < 0.7 else "--reject"
    does(year, name, "setup", f"measured {text(year, name)} {machine(year)} --report 77 {way} -m measured")


def ran(year: "Year", name: str) -> None:
    more = ["--first-piece", "FP 9"] if year.lot.random() < 0.3 else []
    late = year.lot.random()
    if late < 0.2:
        more += ["--at", year.earlier(60)]
    elif late < 0.4:
        more += ["--date", year.earlier(60)[:10]]
    does(
        year, name, "setup", f"ran {text(year, name)} {machine(year)} --lot L{year.lot.randrange(99)}", *more
    )


def review(year: "Year", name: str) -> None:
    does(year, name, "programmer", f"review {text(year, name)} -m 'looked at'")


def countersign(year: "Year", name: str) -> None:
    does(year, name, "setup", f"countersign {text(year, name)} {machine(year)} -m watched")


def hold(year: "Year", name: str) -> None:
    job, op = year.any_op()
    scope = year.lot.choice((year.some_revision(name, job, op), job, "--machine MILL2 --because crash"))
    does(year, name, "setup", f"hold {scope} -m chatter")


def lift(year: "Year", name: str) -> None:
    job, op = year.any_op()
    machine_too = "--machine MILL2 --check laser"
    scope = year.lot.choice((f"{job}/{op}", job, machine_too, year.some_release(name, job)))
    does(year, name, "quality", f"lift {scope} -m 'put right'")


def release(year: "Year", name: str) -> None:
    does(year, name, "quality", f"release {year.any_op()[0]} -m go")


def withdraw(year: "Year", name: str) -> None:
    job, op = year.any_op()
    more = f"--op {op}" if year.lot.random() < 0.3 else ""
    does(year, name, "quality", f"withdraw {year.some_release(name, job)} {more} -m 'grip too low'")


def strike(year: "Year", name: str) -> None:
    folder = year.clones[name].folder
    places = ("jobs/*/records/*/r*-*-*-*.toml", "jobs/*/records/*/*Z-*.toml", "records/*.toml")
    rows = sorted(path.name for place in places for path in folder.glob(place))
    if rows:
        by = year.lot.choice(AT[name])
        year.call(name, "strike", year.lot.choice(rows), "--by", by, "-m", "wrong", "--yes")


def export(year: "Year", name: str) -> None:
    way, role, more = year.lot.random(), "setup", ""
    if way < 0.2:
        more = f"--for-proving {text(year, name)}"
    elif way < 0.35:
        role, more = (
            "quality",
            f"--deviation {text(year, name)} -m 'the customers line stands still' --lot L1",
        )
    elif way < 0.5:
        more = "--mirror"
    elif way < 0.6:
        more = year.any_op()[0]
    does(year, name, role, f"export {machine(year)} {more}", "--to", str(year.place / "BLUE-1"))


def collect(year: "Year", name: str) -> None:
    stick = year.place / "BLUE-1"
    texts, more = sorted(path for path in stick.rglob("*.NC")), ""
    if texts and year.lot.random() < 0.5:
        edited = year.lot.choice(texts)
        edited.write_bytes(edited.read_bytes().replace(b"X1. Y1. Z", b"X1.1 Y1. Z"))
        own = [
            f"{job}/{op}"
            for (job, op), values in year.values.items()
            if values["number"] == edited.stem[1:] and year.is_own(name, job)
        ]
        if own and year.lot.random() < 0.7:
            more = f"--checkin {own[0]} -m 'moved the hole' {year.lot.choice(('--cut', '--not-cut'))}"
    does(year, name, "setup", f"collect {more}", str(stick))


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
