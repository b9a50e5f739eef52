"""Programs around a line or two, so that one odd line does not make a file another language."""

from tracker.nc.canonical import Reading, read
from tracker.nc.fingerprint import fingerprint_of

BEFORE = b"O77\nG21\nG17 G40\nT2 M6\nS900 M3\nG0 X3. Y4.\n"
AFTER = b"G0 Z9.\nG1 Z-2. F80.\nX7.\nG0 Z9.\nM5\nM9\nG49\nX0.\nM30\n"


def around(lines: bytes | str) -> bytes:
    """A program that holds these lines among others that read as words."""
    raw = lines if isinstance(lines, bytes) else lines.encode("latin-1")
    return BEFORE + raw + b"\n" + AFTER


def reading_of(lines: bytes | str, *, strict: bool = False) -> Reading:
    """The reading of a program with these lines; always a word-address one."""
    reading = read(around(lines), strict=strict)
    assert reading.dialect == "word-address"
    return reading


def blocks_of(lines: bytes | str, *, strict: bool = False) -> list[str]:
    """The canonical blocks these lines become."""
    code = reading_of(lines, strict=strict).code.decode("latin-1")
    before, after = read(BEFORE).code.decode(), read(AFTER).code.decode()
    assert code.startswith(before)
    assert code.endswith(after)
    return code[len(before) : len(code) - len(after)].split("\n")[:-1]


def print_of(lines: bytes | str, *, strict: bool = False) -> str:
    """The fingerprint of a program with these lines."""
    reading = reading_of(lines, strict=strict)
    return fingerprint_of(reading.code, reading.dialect)


def whole_print(data: bytes) -> str:
    """The fingerprint of a whole file."""
    reading = read(data)
    return fingerprint_of(reading.code, reading.dialect)
