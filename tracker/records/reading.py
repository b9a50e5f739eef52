"""People's files: from the mapping a TOML file holds to `Shop` and `Job`, or to everything that is wrong with it.

All problems are found in one go. A problem names the place by its path of keys and list places, so that the caller
can add file and line. Nothing is repaired and nothing unknown is passed over.
"""

from collections.abc import Mapping

from tracker.frozen import replace
from tracker.records.fields import JOB_FILE, SHOP_FILE, SHOP_TABLE
from tracker.records.job import Job, Offset, Operation
from tracker.records.problems import Problem, nearest_fix
from tracker.records.reading_rules import effective_lists, job_problems, shop_problems
from tracker.records.shop import Checks, Policy, Shop
from tracker.records.table_reading import table_problems, values
from tracker.records.value_rules import usual_offset

__all__ = ["Problem", "job_against_shop", "job_from", "shop_from"]

_DEFAULT_OPERATION = "op10"


def shop_from(
    mapping: Mapping[str, object], *, sound: bool = False
) -> tuple[Shop | None, tuple[Problem, ...]]:
    """The shop ``mapping`` describes; None and all problems when it describes none.

    ``sound``: these very bytes were found without a problem before.
    """
    problems = [] if sound else [*table_problems(SHOP_FILE, mapping, ()), *shop_problems(mapping)]
    if problems:
        return None, tuple(problems)
    built = values(SHOP_FILE, mapping)
    del built["format"]
    about = built.pop("shop") or values(SHOP_TABLE, {})
    policy = built.pop("policy") or Policy()
    checks = built.pop("checks") or Checks()
    stated = mapping.get("policy")
    if isinstance(stated, Mapping):
        policy = replace(policy, **effective_lists(stated))
    return Shop(**about, policy=policy, checks=checks, **built), ()


def job_from(
    mapping: Mapping[str, object], folder: str | None = None, *, sound: bool = False
) -> tuple[Job | None, tuple[Problem, ...]]:
    """The job ``mapping`` describes; None and all problems when it describes none.

    ``folder``: that of job.toml from the repository's root; with it, a program outside the repository is a problem.
    Without ``[[operations]]`` there is one operation op10 whose program is the one file in the folder ``op10``.
    ``sound``: these very bytes were found without a problem at this place before.
    """
    problems = [] if sound else [*table_problems(JOB_FILE, mapping, ()), *job_problems(mapping, folder)]
    if problems:
        return None, tuple(problems)
    built = values(JOB_FILE, mapping)
    operations: tuple[Operation, ...] = built["operations"]
    if not operations:
        operations = (Operation(id=_DEFAULT_OPERATION, program=_DEFAULT_OPERATION),)
    return Job(**built["job"], operations=tuple(_usual(one, operations) for one in operations)), ()


def job_against_shop(job: Job, shop: Shop) -> tuple[Problem, ...]:
    """What of ``job`` does not fit ``shop``: unknown machines, waivers by nobody who may sign them."""
    found: list[Problem] = []
    machines = [one.id for one in shop.machines]
    for at, operation in enumerate(job.operations):
        for place, name in enumerate(operation.machines):
            if shop.machine(name) is None:
                message = f"operation {operation.id} names the machine {name!r}, which is not in shop.toml"
                fix = nearest_fix(name, machines, "machines")
                found.append(Problem(("operations", at, "machines", place), message, fix))
        kinds = {machine.type: machine.id for name in operation.machines if (machine := shop.machine(name))}
        if len(kinds) > 1:
            named = " and ".join(f"{kinds[kind]} ({kind})" for kind in sorted(kinds))
            message = f"operation {operation.id} names machines of two kinds: {named}"
            fix = "one program runs on one kind of machine; write an operation for each"
            found.append(Problem(("operations", at, "machines"), message, fix))
        for place, waiver in enumerate(operation.waivers):
            person = shop.person(waiver.by)
            if person is None or not {"programmer", "quality"} & set(person.roles):
                message = (
                    f"the waiver of {waiver.rule} is by {waiver.by!r}, no programmer or quality person here"
                )
                fix = "a programmer or quality person of shop.toml signs a waiver"
                found.append(Problem(("operations", at, "waivers", place, "by"), message, fix))
    return tuple(found)


def _usual(operation: Operation, operations: tuple[Operation, ...]) -> Operation:
    """The operation with offsets and the id it refers to in their one way of writing."""
    original = operation.alternative_to
    if original is not None:
        original = next(one.id for one in operations if one.id.lower() == original.lower())
    offsets = tuple(
        Offset(code=usual_offset(one.code) or one.code, origin=one.origin) for one in operation.offsets
    )
    return replace(operation, alternative_to=original, offsets=offsets)
