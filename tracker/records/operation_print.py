"""The fingerprint of an operation: of the names and fingerprints of its programs, and of its sheet.

SHA-256 over lines, each ended by one line feed::

    proveout operation <rule version>[ strict]
    <O number or -> <file name, upper case> <fingerprint>      per program: main first, then by O number, then name
    sheet <sheet fingerprint>

The raw bytes are not in it. Programs without a number come after those with one.
"""

from collections.abc import Sequence

from tracker.digest import sha256_of
from tracker.errors import BadCall
from tracker.typed import Protocol


class Printed(Protocol):
    """A program as far as its operation's fingerprint knows it."""

    @property
    def name(self) -> str:
        """File name."""

    @property
    def number(self) -> int | None:
        """O number, if it has one."""

    @property
    def fingerprint(self) -> str:
        """Its own fingerprint in hex: the strict one in a strict operation."""


def operation_fingerprint(
    rule_version: int, strict: bool, files: Sequence[Printed], sheet_fingerprint: str
) -> str:
    """The fingerprint in hex; ``files`` main program first, the rest in any order.

    Raises:
        BadCall: ``bad-file-name`` for a name with a control character, which could be read as two lines.
    """
    return sha256_of(operation_bytes(rule_version, strict, files, sheet_fingerprint))


def operation_bytes(
    rule_version: int, strict: bool, files: Sequence[Printed], sheet_fingerprint: str
) -> bytes:
    """The bytes the fingerprint is made of."""
    lines = [f"proveout operation {rule_version}" + (" strict" if strict else "")]
    lines += [_line(one) for one in [*files[:1], *sorted(files[1:], key=_order)]]
    lines.append(f"sheet {sheet_fingerprint}")
    return "".join(f"{line}\n" for line in lines).encode("utf-8", "surrogateescape")


def _order(program: Printed) -> tuple[bool, int, str]:
    return program.number is None, program.number or 0, program.name.upper()


def _line(program: Printed) -> str:
    name = program.name.upper()
    if any(ord(mark) < 0x20 or ord(mark) == 0x7F for mark in name):
        raise BadCall(
            "bad-file-name", f"the file name {name!r} holds a control character", fix="rename the file"
        )
    number = "-" if program.number is None else str(program.number)
    return f"{number} {name} {program.fingerprint}"
