"""The section of DEVELOPERS.md on what the server refuses: ``python -m tests.server.table`` writes it anew."""

from pathlib import Path

from tests.server.attacks import ATTACKS, OUT_OF_SCOPE

DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"
START = "<!-- made from tests/server/attacks.py: python -m tests.server.table -->\n"
END = "<!-- end of what is made from tests/server/attacks.py -->\n"


def table() -> str:
    """Every attack with the rule that stops it, then what is out of scope."""
    lines = ["| the attacker | stopped by |", "|---|---|"]
    lines += [f"| {attack.does} | `{attack.rule}` |" for attack in ATTACKS]
    lines += ["", "Out of scope:", "", *(f"- {each}" for each in OUT_OF_SCOPE)]
    return "\n".join(lines) + "\n"


def with_table(text: str) -> str:
    """The document with the table as the code has it."""
    before, start, rest = text.partition(START)
    _, end, after = rest.partition(END)
    if not start or not end:
        raise ValueError("the marks of the table are not in the document")
    return before + START + table() + END + after


if __name__ == "__main__":
    DEVELOPERS.write_text(with_table(DEVELOPERS.read_text(encoding="utf-8")), encoding="utf-8")
