"""What may happen in `tests.stick.any_stick`: at the office, with a stick in hand, at a control."""

import json
import shutil
import tomllib
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from tests.fakes.stick_shop import renumbered
from tests.stick.any_stick import COMMON, IS_OF_RECORD, IS_OTHER, JOBS, MACHINES, PROGRAM, STICKS, Sticks


def edit(year: Sticks) -> None:
    job = year.lot.choice(JOBS)
    feed = year.unique() if year.lot.random() < 0.7 else "15."
    text = PROGRAM.format(job=job, feed=feed)
    if year.lot.random() < 0.3:
        text = text.replace("Bracket", f"Bracket {year.drawn}")
    year.shop.put(f"jobs/{job}/op10/O{job}.nc", text)
    if year.lot.random() < 0.15:
        year.shop.put("common/O8001.nc", COMMON.replace("Z0.", year.lot.choice(("Z0.", "Z0. M9"))))
    year.call("checkin", "--all", "-m", "changed", "--by", "np", "--yes")
    if year.lot.random() < 0.7:
        year.proved(job)
        if year.lot.random() < 0.8:
            year.released(job)


def stop(year: Sticks) -> None:
    job = year.lot.choice(JOBS)
    rows = sorted((year.shop.folder / f"jobs/{job}/records").glob("release-*.toml"))
    if rows and year.lot.random() < 0.5:
        year.call("withdraw", f"{job}@{len(rows)}", "--by", "dg", "-m", "grip too low", "--yes")
    else:
        year.call("hold", f"{job}/op10", "--by", "ss", "-m", "chatter", "--yes")


def lift(year: Sticks) -> None:
    job = year.lot.choice(JOBS)
    rows = sorted((year.shop.folder / f"jobs/{job}/records").glob("release-*.toml"))
    year.call(
        "lift",
        year.lot.choice((f"{job}/op10", f"{job}@{max(len(rows), 1)}")),
        "--by",
        "dg",
        "-m",
        "put right",
        "--yes",
    )


def export(year: Sticks) -> None:
    machine, stick, job = year.lot.choice(MACHINES), year.stick(), year.lot.choice(JOBS)
    words = ["export", "--machine", machine, "--to", str(stick), "--by", "ss", "--yes"]
    way = year.lot.random()
    if way < 0.15:
        words += ["--for-proving", f"{job}/op10"]
    elif way < 0.25:
        words += ["--deviation", f"{job}/op10", "-m", "the customer's line stands still", "--lot", "L1"]
        words[words.index("ss")] = "dg"
    elif way < 0.45:
        words += ["--mirror"]
    elif way < 0.55:
        words += [job]
    elif way < 0.65:
        words += ["--with-sheets"]
    if year.lot.random() < 0.15:
        year.call(*words, "--dry-run")
        return
    _, said = year.call(*words, may_write=True)
    if "error" in said:
        return
    of_these = codes_of(year, {one["id"] for one in said["operations"]})
    for one in said["files"]:
        if year.code((stick / one["file"]).read_bytes()) not in of_these:
            raise year.broken(f"{one['file']} holds other code than what was to go out")
    if way >= 0.25:
        nothing_unnamed(year, machine, stick, said)


def nothing_unnamed(year: Sticks, machine: str, stick: Path, said: dict) -> None:
    """What lies in the machine's folder as we wrote it may run there, or it is said that it may not."""
    _, plan = year.call(
        "export", "--machine", machine, "--to", str(year.place / "EMPTY"), "--by", "ss", "--dry-run"
    )
    marks = {one["id"] for one in (*plan.get("operations", ()), *said["operations"])}
    may = codes_of(year, marks)
    told = {one["file"] for one in said["call_in"]}
    for path, data in year.lies().items():
        name = path.relative_to(stick).as_posix() if path.is_relative_to(stick) else ""
        ours = path.suffix == ".NC" and name.startswith(f"{machine}/O") and data in year.wrote
        if ours and name not in told and year.code(data) not in may:
            raise year.broken(
                f"{name} lies on {stick.name}, may not run, and nobody is told\n{json.dumps(said, indent=1)[:4000]}"
            )


def codes_of(year: Sticks, marks: set[str]) -> set[str]:
    """The codes of the programs of revisions with these ids."""
    records = [
        tomllib.loads(path.read_text("utf-8"))
        for path in year.shop.folder.glob("jobs/*/records/*/r????-????????.toml")
    ]
    return {
        file["fingerprint"]
        for one in records
        if one["operation_fingerprint"][:8].upper() in marks
        for file in one["files"]
    }


def collect(year: Sticks) -> None:
    stick = year.stick()
    words = ["collect", str(stick), "--by", "ss", "--yes"]
    if year.lot.random() < 0.4:
        words += [
            "--checkin",
            f"{year.lot.choice(JOBS)}/op10",
            "-m",
            "less burr",
            year.lot.choice(("--cut", "--not-cut")),
        ]
        if year.lot.random() < 0.4:
            words += ["--tidy"]
    elif year.lot.random() < 0.3:
        words += ["--dry-run"]
    recorded = year.recorded()
    _, said = year.call(*words)
    for one in said.get("files", ()):
        path = stick / one["file"]
        if path.suffix != ".NC" or one["verdict"] == "missing" or not path.exists():
            continue
        known = year.code(path.read_bytes()) in recorded
        if (not known and one["verdict"] in IS_OF_RECORD) or (known and one["verdict"] in IS_OTHER):
            raise year.broken(f"{'known' if known else 'unknown'} code, and it says {one}")


# the control


def _comment(data: bytes, year: Sticks) -> bytes:
    return data.replace(b"G20", b"G20 (TRIED)", 1)


def _code(data: bytes, year: Sticks) -> bytes:
    return data.replace(b"N80 G0 Z1.", b"N80 G0 Z1." + year.unique().encode()[3:], 1)


def _cut(data: bytes, year: Sticks) -> bytes:
    return data[: len(data) * 2 // 3]


def _lower(data: bytes, year: Sticks) -> bytes:
    return data.lower()


def _number(data: bytes, year: Sticks) -> bytes:
    return data.replace(b"O4", b"O5", 1)


def _no_percent(data: bytes, year: Sticks) -> bytes:
    return data.strip(b"%\r\n") + b"\r\n"


WAYS: tuple[Callable[[bytes, Sticks], bytes], ...] = (
    _comment,
    _code,
    _code,
    _cut,
    _lower,
    _number,
    _no_percent,
    lambda data, _: renumbered(data),
    lambda data, _: b"",
    lambda data, _: data + b"\0" * 40,
)


def control(year: Sticks) -> None:
    path = year.some_program()
    if path is None:
        return
    way = year.lot.choice(WAYS)
    path.write_bytes(way(path.read_bytes(), year))
    year.log.append(f"the control changed {path.relative_to(year.place)}: {getattr(way, '__name__', way)}")


def shuffle(year: Sticks) -> None:
    """Renamed, removed, copied into the other machine's folder, a stranger laid there, the list lost."""
    path = year.some_program()
    way = year.lot.choice(("rename", "remove", "copy", "stranger", "list", "picture", "stick"))
    stick = year.stick()
    if way == "stranger":
        (stick / "MILL1").mkdir(exist_ok=True)
        (stick / "MILL1/O4003.NC").write_bytes(b"%\nO4003 (HOLIDAY)\nG0 X1.\nM30\n%\n")
    elif way == "picture":
        (stick / "HOLIDAY.JPG").write_bytes(bytes(range(256)))
    elif way == "list":
        for found in [one for one in year.lies() if one.suffix == ".JSON"][:1]:
            found.unlink()
    elif way == "stick":
        other = year.place / STICKS[stick.name == STICKS[0]]
        shutil.rmtree(other)
        shutil.copytree(stick, other)
    elif path is not None and way == "rename":
        path.rename(path.with_name(f"O7{year.lot.randrange(100):03}.NC"))
    elif path is not None and way == "remove":
        path.unlink()
    elif path is not None:
        to = path.parent.parent / year.lot.choice(MACHINES) / path.name
        to.parent.mkdir(exist_ok=True)
        to.write_bytes(path.read_bytes())
    year.log.append(f"{way} {path and path.relative_to(year.place)} {stick.name}")


def clean(year: Sticks) -> None:
    """Somebody empties a stick."""
    stick = year.stick()
    shutil.rmtree(stick)
    stick.mkdir()
    year.log.append(f"{stick.name} was emptied")


def pause(year: Sticks) -> None:
    year.now += timedelta(days=year.lot.randrange(1, 20))


WHAT = (
    (edit, 10),
    (stop, 5),
    (lift, 4),
    (export, 22),
    (collect, 16),
    (control, 10),
    (shuffle, 6),
    (clean, 2),
    (pause, 2),
)


def step(year: Sticks) -> None:
    """One thing happens."""
    year.now += timedelta(seconds=year.lot.choice((1, 40, 600, 7000)))
    year.lot.choices([one for one, _ in WHAT], [weight for _, weight in WHAT])[0](year)
