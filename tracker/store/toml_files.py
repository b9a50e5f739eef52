"""TOML files of people and of the tool: bytes in, nouns and records out, and records to bytes.

What is wrong with a file people write is a `BadCall` that names file and line and lists everything found; what is
wrong with a record is `CouldNot`: nothing can be concluded from it.
"""

from collections.abc import Mapping, Sequence

from tracker.errors import BadCall, CouldNot, ProveoutError
from tracker.records.decode import from_mapping
from tracker.records.events import AnyRecord
from tracker.records.job import Job
from tracker.records.problems import Problem
from tracker.records.reading import job_from, shop_from
from tracker.records.shop import Shop
from tracker.store.toml_plain import plain_toml

_AT_LINE = r"\s*\(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)$"


def load_shop(data: bytes, path: str, *, sound: bool = False) -> Shop:
    """shop.toml; raises BadCall (``wrong-shop-file``, ``broken-toml``, ``not-utf8``) with ``path:line``.

    ``sound``: these bytes were read without a problem before.
    """
    text = toml_text(data, path)
    shop, problems = shop_from(toml_mapping(text, path), sound=sound)
    if shop is None:
        raise _wrong("wrong-shop-file", text, path, problems)
    return shop


def load_job(data: bytes, path: str, *, sound: bool = False) -> Job:
    """job.toml at ``path`` from the root; raises BadCall (``wrong-job-file``, ``broken-toml``, ``not-utf8``).

    ``sound``: these bytes were read without a problem at this path before.
    """
    text = toml_text(data, path)
    folder = path.rpartition("/")[0]
    job, problems = job_from(toml_mapping(text, path), folder, sound=sound)
    if job is None:
        raise _wrong("wrong-job-file", text, path, problems)
    return job


def dump_record(record: AnyRecord) -> bytes:
    """The bytes of a record's file: UTF-8, LF."""
    import tomli_w  # only who writes loads what writes

    from tracker.records.encode import to_mapping

    return tomli_w.dumps(to_mapping(record)).encode("utf-8")


def load_record(data: bytes, path: str) -> AnyRecord:
    """The record in ``data``; raises CouldNot (``damaged-record``, ``newer-record``) with ``path``."""
    return record_of(record_mapping(data, path), path)


def record_mapping(data: bytes, path: str) -> dict[str, object]:
    """What a record's file holds; raises CouldNot (``damaged-record``) with ``path``."""
    try:
        return toml_mapping(toml_text(data, path), path)
    except BadCall as fault:
        fix = "bring the file back from the history; records are never edited"
        raise CouldNot("damaged-record", fault.what, where=fault.where, fix=fix) from fault


def record_of(mapping: Mapping[str, object], path: str) -> AnyRecord:
    """The record a mapping holds; raises CouldNot (``damaged-record``, ``newer-record``) with ``path``."""
    try:
        return from_mapping(mapping)
    except ProveoutError as fault:
        raise CouldNot(fault.name, fault.what, where=path, fix=fault.fix) from fault


def toml_text(data: bytes, path: str) -> str:
    """The text of a file people write; a byte-order mark at its start is passed over (editors add it unasked).

    Raises BadCall (``not-utf8``) with the line of the first byte that is none.
    """
    try:
        return data.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        raise BadCall(
            "not-utf8",
            f"{path} is no UTF-8 text: byte {data[fault.start]:02X} hex",
            where=f"{path}:{line}",
            fix="save it as UTF-8 in the editor",
        ) from fault


def toml_mapping(text: str, path: str) -> dict[str, object]:
    """What a TOML text holds; raises BadCall (``broken-toml``) with ``path:line``."""
    plain = plain_toml(text)
    return plain if plain is not None else _any_toml(text, path)


def _any_toml(text: str, path: str) -> dict[str, object]:
    """The same by the reader of the standard library, which is loaded for texts that are not plain, and wrong ones."""
    import tomllib

    try:
        return tomllib.loads(text)
    except RecursionError as fault:
        fix = "look for brackets that are never closed"
        raise BadCall("broken-toml", f"{path}: lists nested too deep", where=path, fix=fix) from fault
    except ValueError as fault:  # TOMLDecodeError, and numbers beyond what Python reads
        import re

        found = re.search(_AT_LINE, str(fault))
        last = text.count("\n") + (0 if text.endswith("\n") else 1)
        line = int(found["line"]) if found and found["line"] else max(last, 1)
        why = re.sub(_AT_LINE, "", str(fault))
        raise BadCall(
            "broken-toml",
            f"{path} is no valid TOML: {why[:1].lower() + why[1:]}",
            where=f"{path}:{line}" if found else path,
            fix="look at that line and the one before: quotes, brackets and equals signs come in their places",
        ) from fault


def problem_error(name: str, data: bytes, path: str, problems: Sequence[Problem]) -> BadCall:
    """The error for ``problems`` of the file ``path`` that holds ``data``, with their lines."""
    return _wrong(name, toml_text(data, path), path, problems)


def _wrong(name: str, text: str, path: str, problems: Sequence[Problem]) -> BadCall:
    from tracker.store.toml_lines import line_of, lines_of  # only a mistake has to be found again

    lines = lines_of(text)
    placed = sorted(((line_of(lines, one.path), one) for one in problems), key=lambda pair: pair[0])
    line, first = placed[0]
    where = f"{path}:{line}"
    if len(placed) == 1:
        return BadCall(name, first.message, where=where, fix=first.fix)
    reasons = tuple(
        f"{path}:{at}: {one.message}" + (f" - {one.fix}" if one.fix else "") for at, one in placed
    )
    fix = "put these right; nothing was done meanwhile"
    return BadCall(name, f"{path} has {len(placed)} mistakes", where=where, fix=fix, reasons=reasons)
