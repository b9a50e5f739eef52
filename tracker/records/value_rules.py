"""Rules for single values in people's files: each takes the text and returns what is wrong with it, or None."""

from zoneinfo import ZoneInfo

from tracker.patterns import lazy_pattern
from tracker.records.ids import is_id, is_reserved

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    from string import Formatter

    formatter_parser = Formatter().parse
else:
    from _string import (
        formatter_parser,
    )  # what stands behind it, without what string compiles for its templates

# FAT and Windows: learn.microsoft.com, "Naming Files, Paths, and Namespaces"
_NOT_IN_NAMES = lazy_pattern(r'[<>:"/\\|?*\x00-\x1f\x7f]')
_STICK_FOLDERS_OF_OURS = ("for-proving", "deviation")
_EXTENDED_OFFSET = lazy_pattern(r"G(54\.1|154)\s*P0*([1-9][0-9]{0,2})")
# for the schemas: what an editor can check, never stricter than the rules below
EMAIL_PATTERN = r"^[^@\s]+@[^@\s]+$"
OFFSET_PATTERN = r"^\s*[Gg](5[4-9]|59\.[123]|(54\.1|154)\s*[Pp]0*[1-9][0-9]{0,2})\s*$"
_EMAIL = lazy_pattern(EMAIL_PATTERN)
_PLAIN_SPEC = lazy_pattern("0?[1-9]?d?")
_DRIVE = lazy_pattern("[A-Za-z]:")
_CONTROL_CHARACTER = lazy_pattern(r"[\x00-\x1f\x7f]")
CODES_PATTERN = r"([GMgm])0*([0-9]{1,4}(\.[0-9]{1,2})?)(?:-[GMgm]?0*([0-9]{1,4}))?"
_CODES = lazy_pattern(CODES_PATTERN)
_RULE_NAME = lazy_pattern(r"[A-Za-z0-9][A-Za-z0-9._-]*")
_MOST_EXTENDED = {"54.1": 300, "154": 99}
_PLAIN_OFFSETS = frozenset([*(f"G{n}" for n in range(54, 60)), "G59.1", "G59.2", "G59.3"])


def identifier(text: str) -> str | None:
    """An id or initials."""
    if is_id(text):
        return None
    return (
        f"{text!r} is no id: 1 to 24 letters, digits, points, dashes or underlines, the first a letter or digit, "
        "and no name an operating system keeps for a device"
    )


def timezone(text: str) -> str | None:
    """A name of the time zone database, like ``Europe/London``."""
    try:
        ZoneInfo(text)
    except (KeyError, ValueError, OSError):
        # a missing zone is a KeyError, a path that leads out a ValueError, a folder of the database an OSError
        return f"{text!r} is no time zone this computer knows; write it like Europe/London, or UTC"
    return None


def email(text: str) -> str | None:
    """An e-mail address: something, an @, something, no blanks."""
    return None if _EMAIL.match(text) else f"{text!r} is no e-mail address"


def post_stamp(text: str) -> str | None:
    """A pattern with the groups name and version."""
    import re  # only a shop that states one pays for it

    try:
        groups = re.compile(text).groupindex
    except re.error as fault:
        return f"the pattern {text!r} is broken: {fault}"
    missing = [name for name in ("name", "version") if name not in groups]
    if missing:
        wanted = " and ".join(f"(?P<{name}>...)" for name in missing)
        return f"the pattern {text!r} lacks the group {wanted}"
    return None


def codes(text: str) -> str | None:
    """A G or M code, or a run of whole numbers of one letter: ``G54.1``, ``G81-G89``."""
    match = _CODES.fullmatch(text)
    if match is None:
        return f"{text!r} is no G or M code; write it like G54, G54.1 or G81-G89"
    if match[4] is not None and (match[3] is not None or int(match[4]) < int(match[2])):
        return f"{text!r}: a run goes from one whole number up to another, like G81-G89"
    return None


def file_name(text: str) -> str | None:
    """A file name on a stick made from ``{number}`` (``{number:04}``: with leading zeros) or ``{name}``."""
    hint = "write it like O{number:04}.NC or {name}"
    try:
        parts = list(formatter_parser(text))
    except ValueError as fault:
        return f"{text!r} cannot be filled in ({fault}); {hint}"
    fields = [(name, spec, conversion) for _, name, spec, conversion in parts if name is not None]
    if not fields or any(name not in ("number", "name") for name, _, _ in fields):
        return f"{text!r} must be made from {{number}} or {{name}}; {hint}"
    if any(conversion or not _is_plain_spec(name, spec or "") for name, spec, conversion in fields):
        return f"{text!r} cannot be filled in; {hint}"
    sample = text.format(number=1234, name="O1234.NC")
    return f"{text!r} does not make a file name: {sample!r}" if _bad_name(sample) else None


def _is_plain_spec(name: str, spec: str) -> bool:
    return not spec if name == "name" else _PLAIN_SPEC.fullmatch(spec) is not None


def folder(text: str) -> str | None:
    """One folder on a stick, not a path, and none this tool uses inside it."""
    if _bad_name(text):
        return f"{text!r} is no name of a single folder on a stick"
    return f"{text!r} is a folder name of this tool's own" if text.lower() in _STICK_FOLDERS_OF_OURS else None


def program_path(text: str) -> str | None:
    """A relative path with forward slashes."""
    if "\\" in text:
        return f"{text!r}: write the path with forward slashes"
    parts = text.split("/")
    if text.startswith("/") or _DRIVE.match(text):
        return f"{text!r}: write the path from the folder of this file, not from the root of a disk"
    if any(part in ("", ".") for part in parts) or parts[-1] == ".." or _CONTROL_CHARACTER.search(text):
        return f"{text!r} is no path to a program file"
    return None


def leads_out(job_folder: str, path: str) -> bool:
    """Whether ``path``, taken from ``job_folder`` (from the repository's root), leads out of the repository."""
    depth = len([part for part in job_folder.split("/") if part not in ("", ".")])
    for part in path.split("/"):
        depth += -1 if part == ".." else 1
        if depth < 0:
            return True
    return False


def offset_code(text: str) -> str | None:
    """A work offset."""
    if usual_offset(text) is None:
        return f"{text!r} is no work offset: G54 to G59, G59.1 to G59.3, G54.1 P1 to G54.1 P300, or G154 P1 to G154 P99"
    return None


def usual_offset(text: str) -> str | None:
    """The one way to write a work offset (``G54``, ``G54.1 P12``), or None when ``text`` is none."""
    upper = text.strip().upper()
    if upper in _PLAIN_OFFSETS:
        return upper
    found = _EXTENDED_OFFSET.fullmatch(upper)
    if found is None or int(found[2]) > _MOST_EXTENDED[found[1]]:
        return None
    return f"G{found[1]} P{int(found[2])}"


def rule_name(text: str) -> str | None:
    """The name of one check, never a wild-card."""
    if _RULE_NAME.fullmatch(text):
        return None
    return f"{text!r} names no single rule; a waiver is for one rule, wild-cards are not allowed"


def signing_key(text: str) -> str | None:
    """A line of a public key that signatures are verified by."""
    from tracker.records.public_keys import (
        public_key,
    )  # most shops have none, and the local hook reads shop.toml

    found = public_key(text)
    return found if isinstance(found, str) else None


def _bad_name(text: str) -> bool:
    trimmed = text.rstrip(". ")
    return not trimmed or trimmed != text or bool(_NOT_IN_NAMES.search(text)) or is_reserved(text)
