"""A shop of many years, made in seconds: jobs, releases and records as a shop's own calls would have left them.

Every record is written by the project's own encoder with fingerprints it worked out itself, and brought in by
``git fast-import``: one commit a record, as in a shop. Each release of a job is a new revision of its one operation
(another depth of cut), proved in full on one machine, released, and run once; now and then everything released goes
onto a stick. So every release can be derived again, and ``audit`` has nothing to find.

Of the standard sizes: 300 jobs, 1,500 releases, 6,000 records, 6,301 commits. `LARGE`: 1,000 jobs of five operations,
5,000 programs, 2,000 releases, 20,000 records.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tracker.policy.gate import message_of
from tracker.records.encode import machine_profile
from tracker.records.events import (
    AnyRecord,
    ExportRecord,
    OnStick,
    Origin,
    ProofRecord,
    RanRecord,
    Reference,
    ReleasedOperation,
    ReleaseRecord,
    RevisionRecord,
    Step,
)
from tracker.records.job import Job
from tracker.records.names import event_file, release_file, revision_file, revision_name
from tracker.records.shop import Shop
from tracker.services.operation_text import ProgramText, fingerprint_of
from tracker.services.prove_steps import STEPS
from tracker.store.toml_files import dump_record, load_job, load_shop

FIRST_DAY = datetime(2026, 1, 5, 6, tzinfo=UTC)
NOW = "2026-04-01T09:00:00Z"
"""A moment after everything the shop did, for PROVEOUT_NOW."""
STEP = timedelta(minutes=15)
PEOPLE = {"np": "Nora Pencil", "ss": "Sol Shim", "dg": "Dell Gauge"}
MACHINES = ("MILL1", "MILL2", "MILL3")
_ROLES = {"np": "programmer", "ss": "setup", "dg": "quality"}
ATTRIBUTES = b"* -text\n*.nc -merge diff=nc\n"


LARGE = {"jobs": 1000, "rounds": 2, "operations": 5, "runs": 5988, "exports": 12, "together": 6}
"""What to hand `make` for the shop audit is measured on."""


def shop_text() -> bytes:
    """Three people with a role each, three mills of one sort."""
    parts = ['format = 1\n[shop]\nname = "Long-lived shop"\ntimezone = "UTC"\n']
    parts += [
        f'[[people]]\ninitials = "{key}"\nname = "{name}"\nemail = "{key}@shop.example"\nroles = ["{_ROLES[key]}"]\n'
        for key, name in PEOPLE.items()
    ]
    parts += [
        f'[[machines]]\nid = "{name}"\ntype = "mill"\nunits = "mm"\nfile_name = "O{{number:04}}.NC"\n'
        for name in MACHINES
    ]
    return "".join(parts).encode()


def job_text(job: str, number: int, operations: Sequence[str] = ("op10",)) -> bytes:
    """A job on one of the mills; its operations' programs are numbered on from ``number``."""
    machine = MACHINES[number % len(MACHINES)]
    head = f'format = 1\n[job]\nnumber = "{job}"\ndrawing_revision = "A"\n'
    tables = [
        f'[[operations]]\nid = "{operation}"\n'
        f'program = "{operation}/O{number + place}.nc"\nmachines = ["{machine}"]\nunits = "mm"\n'
        "[[operations.tools]]\nnumber = 4\nstick_out = 40.0\n"
        for place, operation in enumerate(operations)
    ]
    return "".join([head, *tables]).encode()


def program_text(number: int, revision: int) -> bytes:
    """A short facing program; every revision cuts to another depth."""
    passes = "".join(f"G01 X{100 + 5 * row}.5 Y{row}.25 F300.\nG00 Y{row + 1}.\n" for row in range(12))
    return (
        f"%\nO{number}\nG21 G17 G40 G49 G80 G90\nT4 M06\nG54 S4000 M03\nG43 H04 Z50. M08\nG00 X0. Y0.\n"
        f"G01 Z-{revision}.2 F120.\n{passes}G00 Z50. M09\nM05\nM30\n%\n"
    ).encode()


Program = Callable[[int, int], bytes]
"""The text of a program by its O number and the number of its revision."""


@dataclass(slots=True)
class _Stream:
    """The input of ``git fast-import``."""

    parts: list[bytes] = field(default_factory=list)
    marks: int = 0
    at: datetime = FIRST_DAY

    def commit(self, files: Mapping[str, bytes], message: str, by: str) -> int:
        """One commit on main with these files; returns its mark."""
        self.marks += 1
        who = self._who(by)
        head = f"commit refs/heads/main\nmark :{self.marks}\nauthor {who}\ncommitter {who}\n"
        self.parts += [head.encode(), _data(message.encode())]
        for path, data in files.items():
            self.parts += [f"M 100644 inline {path}\n".encode(), _data(data)]
        return self.marks

    def tag(self, name: str, mark: int, message: str, by: str) -> None:
        """An annotated tag straight on that commit."""
        head = f"tag {name}\nfrom :{mark}\ntagger {self._who(by)}\n"
        self.parts += [head.encode(), _data(message.encode())]

    def _who(self, by: str) -> str:
        return f"{PEOPLE[by]} <{by}@shop.example> {int(self.at.timestamp())} +0000"


def _data(data: bytes) -> bytes:
    return b"data %d\n%s\n" % (len(data), data)


@dataclass(slots=True)
class _Released:
    """The newest revision of an operation; the paths and SHA-256 of its record and of its proof."""

    name: str
    record: RevisionRecord
    place: tuple[str, str]
    proof: tuple[str, str] = ("", "")


class _Maker:
    """Writes one record after the other, each a quarter of an hour after the last."""

    def __init__(self, jobs: int, operations: int = 1, program: Program = program_text) -> None:
        self.program = program
        self.operations = tuple(f"op{10 * (place + 1)}" for place in range(operations))
        self.stream = _Stream()
        self.shop: Shop = load_shop(shop_text(), "shop.toml")
        self.jobs: dict[str, tuple[int, Job]] = {}
        self.newest: dict[tuple[str, str], _Released] = {}
        self.releases: dict[str, int] = {}
        self.records = 0
        self.stream.commit({"shop.toml": shop_text(), ".gitattributes": ATTRIBUTES}, "the shop", "dg")
        for place in range(jobs):
            self._open_job(str(1001 + place), 1001 + place * operations)

    def _open_job(self, job: str, number: int) -> None:
        data = job_text(job, number, self.operations)
        self.jobs[job] = (number, load_job(data, f"jobs/{job}/job.toml"))
        self.stream.commit({f"jobs/{job}/job.toml": data}, f"{job}: opened", "np")

    def release(self, job: str) -> None:
        """Check new revisions in, prove and release them: of every operation at first, later of the first alone."""
        count = self.releases.get(job, 0) + 1
        for operation in self._check_in(job, count):
            self._prove(job, operation)
        held = tuple(self._held(job, operation) for operation in self.operations)
        record = ReleaseRecord(job=job, number=count, operations=held, **self._opening("dg"))
        data, path = dump_record(record), release_file(f"jobs/{job}", count)
        mark = self._commit({path: data}, f"{job} release {count}", "dg")
        self.stream.tag(f"release/{job}/{count}", mark, message_of(job, count, path, _sha256(data)), "dg")
        self.releases[job] = count

    def run(self, jobs: Sequence[str]) -> None:
        """Lots were made of what is released of some jobs, put down in one go."""
        files: dict[str, bytes] = {}
        for job in jobs:
            found, machine = self.newest[job, self.operations[0]], self._machine(job)
            record = RanRecord(
                job=job,
                operation=self.operations[0],
                revision=found.name,
                machine=machine,
                operation_fingerprint=found.record.operation_fingerprint,
                lot=f"L{self.records}",
                quantity=25,
                date=f"{self.stream.at + STEP:%Y-%m-%d}",
                **self._opening("ss"),
            )
            files.update([self._file(f"jobs/{job}", record)])
        self._commit(files, f"{jobs[0]}: ran", "ss")

    def export(self, machine: str) -> None:
        """Everything that is released for a machine goes onto its stick."""
        files = tuple(
            OnStick(
                path=f"O{found.record.files[0].number:04}.NC",
                sha256=found.record.files[0].raw_sha256,
                job=job,
                operation=operation,
                revision=found.name,
                fingerprint=found.record.files[0].fingerprint,
                program=found.record.files[0].path,
                release=self.releases[job],
            )
            for (job, operation), found in self.newest.items()
            if self._machine(job) == machine
        )
        record = ExportRecord(
            machine=machine,
            stick=f"STICK-{machine}",
            purpose="released",
            manifest=_sha256(str(self.records).encode()),
            files=files,
            **self._opening("ss"),
        )
        self._commit(dict([self._file(None, record)]), f"export for {machine}", "ss")

    def _check_in(self, job: str, count: int) -> tuple[str, ...]:
        """One commit with a new revision of each operation that changes; returns which."""
        changed = self.operations if count == 1 else self.operations[:1]
        files: dict[str, bytes] = {}
        for place, operation in enumerate(changed):
            files.update(self._revision(job, place, operation, count))
        self._commit(files, f"{job} r{count}: another depth", "np")
        return changed

    def _revision(self, job: str, place: int, operation: str, count: int) -> dict[str, bytes]:
        first, facts = self.jobs[job]
        number, before = first + place, self.newest.get((job, operation))
        path = f"jobs/{job}/{operation}/O{number}.nc"
        text = ProgramText(path=path, name=f"O{number}.nc", number=number, data=self.program(number, count))
        prints = fingerprint_of((text,), facts, facts.operations[place], strict=False)
        origin = (Origin(revision=before.name, kinds=("motion",), sections=("4",)),) if before else ()
        record = RevisionRecord(
            job=job,
            operation=operation,
            revision=revision_name(count),
            reason="another depth",
            operation_fingerprint=prints.operation,
            rule_version=_rules(),
            sheet_fingerprint=prints.sheet,
            files=prints.files,
            origins=origin,
            **self._opening("np"),
        )
        data = dump_record(record)
        where = revision_file(f"jobs/{job}", operation, count, data)
        name = where.rsplit("/", 1)[-1].removesuffix(".toml")
        self.newest[job, operation] = _Released(name, record, (where, _sha256(data)))
        return {where: data, path: text.data}

    def _prove(self, job: str, operation: str) -> None:
        machine, found = self.shop.machine(self._machine(job)), self.newest[job, operation]
        assert machine is not None
        steps = tuple(Step(step=rule.key, done=True, value=100.0 if rule.figure else None) for rule in STEPS)
        proof = ProofRecord(
            job=job,
            operation=operation,
            revision=found.name,
            machine=machine.id,
            operation_fingerprint=found.record.operation_fingerprint,
            rule_version=found.record.rule_version,
            files=found.record.files,
            machine_profile=machine_profile(machine),
            result="accepted",
            steps=steps,
            **self._opening("ss"),
        )
        path, data = self._file(f"jobs/{job}", proof)
        self._commit({path: data}, f"{job}/{operation} {found.name[:5]}: proved", "ss")
        found.proof = path, _sha256(data)

    def _held(self, job: str, operation: str) -> ReleasedOperation:
        found = self.newest[job, operation]
        return ReleasedOperation(
            operation=operation,
            revision=found.name,
            operation_fingerprint=found.record.operation_fingerprint,
            machines=(self._machine(job),),
            relied_on=tuple(
                Reference(path=path, sha256=sha256) for path, sha256 in (found.place, found.proof)
            ),
        )

    def _machine(self, job: str) -> str:
        return self.jobs[job][1].operations[0].machines[0]

    def _file(self, folder: str | None, record: AnyRecord) -> tuple[str, bytes]:
        machine = getattr(record, "machine", None)
        path = event_file(
            folder, record.operation, record.revision, record.EVENT, machine, record.at, record.by
        )
        return path, dump_record(record)

    def _commit(self, files: Mapping[str, bytes], message: str, by: str) -> int:
        """A commit with records, at the moment `_opening` said."""
        self.stream.at += STEP
        self.records += sum(path.endswith(".toml") for path in files)
        return self.stream.commit(files, message, by)

    def _opening(self, by: str) -> dict[str, object]:
        moment = self.stream.at + STEP
        return {"at": moment, "entered": moment, "by": by}


def _sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _rules() -> int:
    from tracker.nc.identity import RULE_VERSION

    return RULE_VERSION


def make(
    folder: Path,
    *,
    jobs: int = 300,
    rounds: int = 5,
    exports: int = 12,
    operations: int = 1,
    runs: int | None = None,
    together: int = 1,
    program: Program = program_text,
) -> int:
    """Make the shop in a new folder; returns how many records it has.

    ``rounds`` releases a job, one after the other through all jobs, and ``runs`` (as many, less the exports, if not
    said), ``together`` of them in a commit. It is packed as a fresh clone is.
    ``program`` writes the texts.
    """
    maker = _Maker(jobs, operations, program)
    names = list(maker.jobs)
    left = jobs * rounds - exports if runs is None else runs
    for turn in range(rounds):
        for place, job in enumerate(names, start=1):
            maker.release(job)
            if left > 0 and place % together == 0:
                lot = names[place - together : place][:left]
                maker.run(lot)
                left -= len(lot)
        for turn_export in range(turn * exports // rounds, (turn + 1) * exports // rounds):
            maker.export(MACHINES[turn_export % len(MACHINES)])
    place = 0
    while left > 0:
        lot = names[place : place + together][:left]
        maker.run(lot)
        left, place = left - len(lot), (place + together) % jobs
    _bring_in(folder, maker.stream)
    return maker.records


def _bring_in(folder: Path, stream: _Stream) -> None:
    folder.mkdir(parents=True)
    _git(folder, "init", "-q", "-b", "main")
    _git(folder, "fast-import", "--quiet", stdin=b"".join([*stream.parts, b"done\n"]))
    _git(folder, "reset", "-q", "--hard", "main")
    _git(folder, "repack", "-adq")
    _git(folder, "pack-refs", "--all")
    for key, value in (("user.name", PEOPLE["dg"]), ("user.email", "dg@shop.example")):
        _git(folder, "config", key, value)


def _git(folder: Path, *words: str, stdin: bytes = b"") -> None:
    kept = {key: text for key, text in os.environ.items() if not key.startswith("GIT_")}
    environment = {**kept, "GIT_CONFIG_NOSYSTEM": "1", "GIT_CONFIG_GLOBAL": os.devnull}
    _run(["git", "-C", str(folder), *words], environment, stdin)


def _run(argv: Sequence[str], environment: Mapping[str, str], stdin: bytes) -> None:
    subprocess.run(argv, input=stdin, env=dict(environment), check=True, capture_output=True)
