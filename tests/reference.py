"""The reference part of README.md, made from the code: ``python -m tests.reference`` writes it anew."""

from collections.abc import Iterator
from pathlib import Path

from tracker.cli.verbs import VERBS
from tracker.records.field import Field, Kind, Table
from tracker.records.fields import JOB_FILE, SHOP_FILE
from tracker.reports.json_shapes import ERROR, PARTS, SHAPES

README = Path(__file__).parents[1] / "README.md"
START = "<!-- made from the code: python -m tests.reference -->\n"
END = "<!-- end of what is made from the code -->\n"


def reference() -> str:
    """Commands by who uses them, every key of shop.toml and job.toml, the shape of every answer in JSON."""
    lines = ["### Commands", "`proveout COMMAND --help` lists the options of each.", ""]
    for who in dict.fromkeys(verb.who for verb in VERBS):
        lines += [f"**{who}**", "", "| command | what it does |", "|---|---|"]
        lines += [f"| `{verb.name}` | {verb.help} |" for verb in VERBS if verb.who == who]
        lines.append("")
    for name, table in (("shop.toml", SHOP_FILE), ("job.toml", JOB_FILE)):
        lines += [
            f"### {name}",
            f"JSON Schema: `tracker/schemas/{name.removesuffix('.toml')}.schema.json`.",
            "",
        ]
        lines += _keys(table)
    lines += _json()
    return "\n".join(lines)


def _json() -> Iterator[str]:
    yield "### JSON"
    yield 'Every answer with `--json` is one object that opens with `"schema": "proveout/<command>/1"`; keys are added, never renamed or given'
    yield "another meaning. `key[a b]` is a list of objects with the keys a and b, `key{a b}` an object or null, `key?` a key that is not"
    yield "always there, `*` whatever a record holds; a word in capitals is a part, below. With `--csv`, the first list is the table."
    yield from ("", f"An error: `{ERROR}`", "", "| command | answer |", "|---|---|")
    yield from (f"| `{verb.name}` | `{SHAPES[verb.name]}` |" for verb in VERBS if verb.name in SHAPES)
    yield from ("", "| part | keys |", "|---|---|")
    yield from (f"| `{name}` | `{keys}` |" for name, keys in PARTS.items())
    yield ""


def _keys(table: Table) -> Iterator[str]:
    own = [field for field in table.fields if field.table is None]
    if own:
        yield from (
            f"`{table.heading or 'at the top'}` - {table.doc}",
            "",
            "| key | value | meaning |",
            "|---|---|---|",
        )
        yield from (
            f"| `{field.key}` | {_value(field)} | {field.doc} |".replace("||", "\\|\\|") for field in own
        )
        yield ""
    for field in table.fields:
        if field.table is not None:
            yield from _keys(field.table)


def _value(field: Field) -> str:
    words = (
        ", ".join(f"`{choice}`" for choice in field.choices) if field.choices else field.kind.split(",")[0]
    )
    if field.required:
        return f"{words}; required"
    if field.default in (None, (), "") or field.kind in (Kind.TEXTS, Kind.IDS):
        return words
    default = str(field.default).lower() if isinstance(field.default, bool) else f"{field.default}"
    return f"{words}; default {default}"


def with_reference(text: str) -> str:
    """The README with its reference part as the code has it now."""
    before, _, rest = text.partition(START)
    _, _, after = rest.partition(END)
    return f"{before}{START}\n{reference()}\n{END}{after}"


if __name__ == "__main__":
    README.write_text(with_reference(README.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
