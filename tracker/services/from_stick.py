"""``prove DIR`` and ``ran DIR``: job, operation, revision and machine taken from what lies on a stick.

The list an export left is a hint; what a file is, its content decides, and an edited one is held against the revision
it was exported as. Where the folder holds more than one operation, the person has to name one.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from tracker.errors import BadCall, CouldNot
from tracker.policy.find import number_of
from tracker.records.shop import Machine
from tracker.records.stored import Ledger
from tracker.services.comparing import PlainFile
from tracker.services.desk import Desk
from tracker.services.known import KnownTexts
from tracker.services.naming import Named
from tracker.services.ports_stick import Listed, Medium, Shaper
from tracker.services.stick_view import Contents, home_of, homes, written


@dataclass(frozen=True, slots=True, kw_only=True)
class OnStickNow:
    """What a stick says: the revision its list or its content names, the machine, the files of that operation."""

    named: Named
    machine: str | None
    files: tuple[PlainFile, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """One file with the revision it is taken for."""

    path: str
    data: bytes
    machine: Machine | None
    job: str
    operation: str
    revision: str


def from_stick(desk: Desk, medium: Medium, shaper: Shaper) -> OnStickNow:
    """The one operation in a folder of a stick.

    Raises:
        BadCall: ``nothing-of-ours`` when nothing there is known, ``which-operation`` when several are.
        CouldNot: ``medium-gone``, and what reading the repository raises.
    """
    ledger = desk.repo.ledger()
    contents = Contents.of(medium, shaper)
    found = list(_known_files(desk, ledger, contents))
    operations = sorted({(one.job, one.operation) for one in found})
    if not operations:
        raise BadCall(
            "nothing-of-ours",
            "nothing in this folder is known as a program of this shop",
            where=medium.label,
            fix="name the operation instead of the folder: JOB/OP --machine ID; prove takes files with --ran FILE",
        )
    machines = {one.machine.id for one in found if one.machine}
    if len(operations) > 1 or len(machines) > 1:
        listed = ", ".join(f"{job}/{operation}" for job, operation in operations)
        raise BadCall(
            "which-operation",
            f"this folder holds programs of {listed}"
            + (f" for {', '.join(sorted(machines))}" if machines else ""),
            fix=f"name one, and its file: {operations[0][0]}/{operations[0][1]} --machine ID --ran FILE",
        )
    latest = max((one.revision for one in found), key=number_of)
    job, operation = operations[0]
    return OnStickNow(
        named=Named(
            job=job,
            operation=operation,
            revision=number_of(latest) or None,
            digits=latest.partition("-")[2] or None,
        ),
        machine=next(iter(machines), None),
        files=tuple(PlainFile(name=written(one.path), data=one.data) for one in found),
    )


def _known_files(desk: Desk, ledger: Ledger, contents: Contents) -> Iterator[_Found]:
    """Programs on the stick that the list or their content places in an operation of a job."""
    texts = KnownTexts(desk.repo, ledger)
    places = homes(ledger.shop, contents)
    listed = _listed(contents)
    for one in contents.files():
        if contents.is_manifest(one) or contents.shaper.leftover(one.name):
            continue
        data = contents.medium.read(one.path)
        home = home_of(one.path, places)
        said = listed.get(contents.shaper.folded(one.path))
        known = texts.content(data).known
        if said is not None and said.job and said.operation:
            where = (said.job, said.operation, said.revision)
        elif known:
            newest = max(known, key=lambda each: each.number)
            where = (newest.job, newest.operation, newest.stored.name)
        else:
            continue
        yield _Found(
            path=one.path,
            data=data,
            machine=home.machine if home else None,
            job=where[0],
            operation=where[1],
            revision=where[2],
        )


def _listed(contents: Contents) -> dict[str, Listed]:
    """Path on the stick -> what our lists there say of it; a list that is none of ours says nothing."""
    found: dict[str, Listed] = {}
    for one in contents.files():
        if not contents.is_manifest(one):
            continue
        try:
            manifest = contents.shaper.read_manifest(contents.medium.read(one.path))
        except (ValueError, CouldNot):
            continue
        for listed in manifest.files:
            path = f"{one.folder}/{listed.file}" if one.folder else listed.file
            found[contents.shaper.folded(path)] = listed
    return found
