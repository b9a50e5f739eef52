"""Texts for new files of people: a ``shop.toml`` to start with, and a ``job.toml`` with every key explained.

Both are read back without a mistake as they are. Keys with a value here are the ones a person has to look at; all
others stand behind a ``#`` with what they mean.
"""

from collections.abc import Iterable, Mapping

from tracker.records.field import Field, Kind, Table
from tracker.records.fields import (
    CHECKS,
    JOB_FILE,
    JOB_TABLE,
    MACHINE,
    OFFSET,
    OPERATION,
    PERSON,
    POLICY,
    STICK,
    TOOL,
    WAIVER,
)
from tracker.records.shop import Person

_WIDTH = 44


def shop_text(*, name: str, timezone: str = "UTC", alone: Person | None = None) -> str:
    """A ``shop.toml``: name, time zone, the policy in full, and tables of people and machines to fill in.

    ``alone``: the one person of a one-person shop, who gets every role; two persons are then not asked for.
    """
    policy = {"two_person": "false"} if alone else {}
    parts = [
        "# What this shop is: people, machines, policy. Ids and initials are never renamed and never used again.\n",
        "format = 1\n\n[shop]\n",
        f"name = {quoted(name)}\ntimezone = {quoted(timezone)}\n",
        '# paper = "a4"                              # a4 or letter\n',
        "\n[policy]\n",
        _lines(POLICY.fields, policy),
        "\n[checks]\n",
        _lines(CHECKS.fields, {}),
    ]
    if alone is not None:
        parts += ["\n[[people]]\n", _person_lines(alone)]
    parts += ["\n", _commented(PERSON), "\n", _commented(MACHINE), "\n", _commented(STICK)]
    return "".join(parts)


def job_text(
    *,
    number: str,
    program: str = "op10/O1001.nc",
    operation: str = "op10",
    machines: Iterable[str] = (),
    units: str | None = None,
) -> str:
    """A ``job.toml`` with one operation; everything that is not given stands behind a ``#`` with its meaning."""
    listed = list(machines)
    given = {"id": quoted(operation), "program": quoted(program)}
    if listed:
        given["machines"] = "[" + ", ".join(quoted(one) for one in listed) + "]"
    if units:
        given["units"] = quoted(units)
    own = [field for field in OPERATION.fields if field.kind is not Kind.TABLES]
    return "".join(
        [
            f"# {JOB_FILE.doc} What is left out is not checked, never guessed.\nformat = 1\n\n[job]\n",
            _lines(JOB_TABLE.fields, {"number": quoted(number)}),
            "\n[[operations]]\n",
            _lines(own, given),
            *("\n" + _commented(table) for table in (OFFSET, TOOL, WAIVER)),
        ]
    )


def quoted(text: str) -> str:
    """``text`` as a TOML basic string on one line."""
    escapes = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t", "\r": "\\r"}
    marks = (escapes.get(mark, mark) for mark in text)
    return (
        '"'
        + "".join(m if len(m) > 1 or (m >= " " and m != "\x7f") else f"\\u{ord(m):04x}" for m in marks)
        + '"'
    )


def _lines(fields: Iterable[Field], given: Mapping[str, str]) -> str:
    """One line a key: with a value where one is given, else as a remark with an example."""
    return "".join(
        _line(f"{field.key} = {given[field.key]}", field.doc)
        if field.key in given
        else _line(f"# {field.key} = {field.example}", field.doc)
        for field in fields
    )


def _line(left: str, doc: str) -> str:
    return f"{left:{_WIDTH}} # {doc}\n"


def _commented(table: Table) -> str:
    """A whole table as a remark, to be copied as often as it is needed."""
    head = f"# {table.heading:{_WIDTH - 2}} # {table.doc}\n"
    return head + "".join(_line(f"# {field.key} = {field.example}", field.doc) for field in table.fields)


def _person_lines(person: Person) -> str:
    roles = next(field.choices for field in PERSON.fields if field.key == "roles")
    return (
        f"initials = {quoted(person.initials)}\nname = {quoted(person.name)}\nemail = {quoted(person.email)}\n"
        f"roles = [{', '.join(quoted(role) for role in roles)}]\n"
    )
