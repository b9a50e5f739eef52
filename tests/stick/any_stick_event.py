"""What may happen in `tests.stick.any_stick`: at the office, with a stick in hand, at a control."""

import hashlib
import json
import re
import shutil
import tomllib
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from tests.fakes.stick_shop import renumbered
from tests.stick.any_stick import (
    APART,
    COMMON,
    IS_OF_RECORD,
    IS_OTHER,
    JOBS,
    MACHINES,
    PROGRAM,
    STICKS,
    Sticks,
)


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
        number = year.lot.choice((len(rows), year.lot.randrange(1, len(rows) + 1)))
        op = ("--op", "op10") if year.lot.random() < 0.4 else ()
        _, said = year.call("withdraw", f"{job}@{number}", *op, "--by", "dg", "-m", "grip too low", "--yes")
        called_in(year, job, number, said)
    else:
        year.call("hold", f"{job}/op10", "--by", "ss", "-m", "chatter", "--yes")


def called_in(year: Sticks, job: str, number: int, said: dict) -> None:
    """Whatever this clone wrote of the release, and lies where it wrote it, is called in."""
    if "error" in said:
        return
    row = tomllib.loads((year.shop.folder / f"jobs/{job}/records/release-{number:04}.toml").read_text())
    marks = {one["operation_fingerprint"][:8].upper() for one in row["operations"]}
    # a text that another revision has too, with another common program, is recalled with that one: `any_stick_recall`
    codes = codes_of(year, marks) - codes_of(year, marks, others=True)
    text = json.dumps(said)
    for path, (data, shop) in year.lay.items():
        here = path.suffix == ".NC" and path.exists() and path.read_bytes() == data and shop is year.shop
        code = year.code(data)
        name = path.relative_to(year.place).as_posix().split("/", 1)
        if (
            here
            and code in codes
            and path.name != "O8001.NC"
            and (name[0] not in text or name[1] not in text)
        ):
            raise year.broken(f"{name} is not called in\n{json.dumps(said, indent=1)[:5000]}")


def strike(year: Sticks) -> None:
    """A line through any record, a release or a revision too: those are refused."""
    rows = [path for path in sorted(year.shop.folder.rglob("*.toml")) if "records" in path.parts]
    path = year.lot.choice([one for one in rows if "-" in one.stem[11:]] or rows)
    words = (
        path.relative_to(year.shop.folder).as_posix(),
        "--by",
        tomllib.loads(path.read_text("utf-8"))["by"],
    )
    year.call("strike", *words, "-m", "put down by mistake", "--yes")


def other(year: Sticks) -> None:
    year.shop = year.lot.choice(year.shops)
    year.log.append(f"at {year.shop.folder.name}")


def share(year: Sticks) -> None:
    """Until it went through; of what both sides changed one is taken."""
    for _ in range(3):
        _, said = year.call("share", "--by", "np")
        if "error" in said or not said["both_changed"]:
            return
        files = [one["file"] for one in said["both_changed"]]
        side = year.lot.choice(("ours", "theirs"))
        year.call("share", "--by", "np", "--take", side, *files)


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
    for one in said["files"]:
        year.lay_for[stick / one["file"]] = machine
    if way >= 0.25:
        nothing_unnamed(year, machine, stick, said)


def nothing_unnamed(year: Sticks, machine: str, stick: Path, said: dict) -> None:
    """What lies in the machine's folder as we wrote it may run there, or it is said that it may not.

    What lies there for a prove-out or under a deviation says so itself, until its day.
    """
    _, plan = year.call(
        "export", "--machine", machine, "--to", str(year.place / "EMPTY"), "--by", "ss", "--dry-run"
    )
    marks = {one["id"] for one in (*plan.get("operations", ()), *said["operations"])}
    may = codes_of(year, marks)
    told, words, known = (
        {one["file"] for one in said["call_in"]},
        " ".join(said["decisions"]),
        year.recorded(),
    )
    homes = year.homes()
    for path, data in year.lies().items():
        if not path.is_relative_to(stick):
            continue
        name = path.relative_to(stick).as_posix()
        before = not name.startswith(tuple(f"{home}/" for home in homes.values()))
        if before and year.lay_for.get(path) != machine:
            continue
        ours = (
            path.suffix == ".NC"
            and (path.parent.name not in APART if before else name.startswith(f"{homes[machine]}/O"))
            and year.shop in year.wrote_at.get(data, ())
            and (not before or year.lay.get(path) == (data, year.shop))
        )
        # in another writing, or laid there by hand
        alike = name.startswith(f"{homes[machine]}/O") and path.suffix == ".NC" and year.code(data) in known
        if (ours or alike) and name not in told and name not in words and year.code(data) not in may:
            raise year.broken(
                f"{name} lies on {stick.name}, may not run, and nobody is told\n{json.dumps(said, indent=1)[:4000]}"
            )


def codes_of(year: Sticks, marks: set[str], *, others: bool = False) -> set[str]:
    """The codes of the programs of revisions with these ids; or of all the others."""
    records = [
        tomllib.loads(path.read_text("utf-8"))
        for path in year.shop.folder.glob("jobs/*/records/*/r????-????????.toml")
    ]
    return {
        file["fingerprint"]
        for one in records
        if (one["operation_fingerprint"][:8].upper() in marks) != others
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
    heads = {job: head_codes(year, job) for job in JOBS}
    _, said = year.call(*words)
    if "--checkin" in words and "error" not in said:
        told = "".join(line for line in said["decisions"] if "its id is in no record here" in line)
        made_of_the_newest(year, stick, words[words.index("--checkin") + 1][:4], heads, recorded, told)
    for one in said.get("files", ()):
        path = stick / one["file"]
        if path.suffix != ".NC" or one["verdict"] == "missing" or not path.exists():
            continue
        known = year.code(path.read_bytes()) in recorded
        everywhere = {file["fingerprint"] for file in year.files(year.shops)}
        anywhere = (
            known or year.code(path.read_bytes()) in everywhere
        )  # fetched, and not brought together yet
        if (not anywhere and one["verdict"] in IS_OF_RECORD) or (known and one["verdict"] in IS_OTHER):
            raise year.broken(f"{'known' if known else 'unknown'} code, and it says {one}")


def collect_folder(year: Sticks) -> None:
    """The folder of one machine by itself, as a control's memory card is; named by its stick, or not."""
    stick = year.stick()
    folder = stick / year.homes()[year.lot.choice(MACHINES)]
    if folder.is_dir():
        named = ("--stick", stick.name) if year.lot.random() < 0.6 else ()
        year.call("collect", str(folder), "--by", "ss", "--yes", *named)


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
    old = path.read_bytes()
    path.write_bytes(way(old, year))
    year.was.setdefault(path.read_bytes(), set()).update(year.was.get(old, set()) | {year.code(old)})
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


def carry(year: Sticks) -> None:
    """Any text there ever was is laid on a stick by hand: as it went out, as the office has it, or in another writing."""
    texts = sorted(
        {path.read_bytes() for shop in year.shops for path in shop.folder.glob("jobs/*/op10/*.nc")}
        | {data for data in year.wrote if b"O4" in data and b"M30" in data}
    )
    data = year.lot.choice((lambda data, _: data, _comment, lambda data, _: renumbered(data)))(
        year.lot.choice(texts), year
    )
    stick, home = year.stick(), year.homes()[year.lot.choice(MACHINES)]
    folder = year.lot.choice((home, home, f"{home}/FOR-PROVING", "."))
    name = year.lot.choice((f"O{year.lot.choice(JOBS)}.NC", f"O7{year.lot.randrange(100):03}.NC"))
    (stick / folder).mkdir(parents=True, exist_ok=True)
    (stick / folder / name).write_bytes(data)
    year.log.append(
        f"carried to {stick.name}/{folder}/{name}: {data[:60]!r} {hashlib.sha256(data).hexdigest()[:8]}"
    )


def made_of_the_newest(
    year: Sticks, stick: Path, job: str, heads: dict[str, set[str]], recorded: set[str], told: str
) -> None:
    """What was taken in is an edit of what was the newest text before: no change of the office is undone by it.

    Or it is ``told`` that it may be one of a text that another PC has and did not share.
    """
    for path, data in year.lies().items():
        ours = (
            path.is_relative_to(stick)
            and data in year.was
            and not _untold(path, data, year.was[data] & recorded)
        )
        taken = ours and year.code(data) in head_codes(year, job)
        if taken and heads[job].isdisjoint(year.was[data] | {year.code(data)}) and path.name not in told:
            raise year.broken(f"{path} was taken in over {heads[job]}, from which it was not made")


def _untold(path: Path, data: bytes, known: set[str]) -> bool:
    """Whether nothing says whose text it is, so that the person who takes it in does.

    It has lost its id line; and neither name nor number speaks for a job, or all it was made of is in another clone alone, and not ``known`` here.
    """
    number = data.split(b"(Bracket", 1)[0]
    named = any(
        job.encode() in number or (job in path.name and b"O5" + job[1:].encode() in number) for job in JOBS
    )
    return b"(ID " not in data and not (named and known)


def head_codes(year: Sticks, job: str) -> set[str]:
    """The codes of the newest revision; of several where two clones made one by its number."""
    rows = sorted(year.shop.folder.glob(f"jobs/{job}/records/op10/r????-????????.toml"))
    newest = [row for row in rows if row.name[:5] == rows[-1].name[:5]]
    return {
        one["fingerprint"]
        for row in newest
        for one in tomllib.loads(row.read_text())["files"]
        if job in one["path"]
    }


def clean(year: Sticks) -> None:
    """Somebody empties a stick."""
    stick = year.stick()
    shutil.rmtree(stick)
    stick.mkdir()
    year.log.append(f"{stick.name} was emptied")


def move_home(year: Sticks) -> None:
    """A machine's folder is called otherwise from now on, as it was before, or as the other one's was."""
    machine = year.lot.choice(MACHINES)
    folder = year.lot.choice(("MILL1", "MILL2", "CELL 1", "CELL 2"))
    text = (year.shop.folder / "shop.toml").read_text(encoding="utf-8")
    head, own, rest = re.split(f'(id = "{machine}"\n(?:folder = .*\n)?)', text, maxsplit=1)
    if folder not in year.homes().values() and own:
        year.shop.put("shop.toml", f'{head}id = "{machine}"\nfolder = "{folder}"\n{rest}')
        year.call("checkin", "shop.toml", "-m", "another folder", "--by", "dg", "--yes")


def pause(year: Sticks) -> None:
    year.now += timedelta(days=year.lot.randrange(1, 20))


WHAT = (
    (edit, 10),
    (stop, 5),
    (lift, 4),
    (export, 22),
    (collect, 16),
    (control, 10),
    (collect_folder, 4),
    (shuffle, 6),
    (carry, 4),
    (clean, 2),
    (move_home, 2),
    (pause, 2),
    (strike, 4),
    (other, 6),
    (share, 5),
)


def step(year: Sticks) -> None:
    """One thing happens."""
    year.now += timedelta(seconds=year.lot.choice((1, 40, 600, 7000)))
    year.in_hand = None
    year.lot.choices([one for one, _ in WHAT], [weight for _, weight in WHAT])[0](year)
