"""``proveout fingerprint FILE... [--json]``: the identity of programs, anywhere, without a repository.

One line a file: the first eight digits people read aloud, the whole fingerprint, the dialect, the file. A file that
cannot be read does not stop the others: its error is told, and the exit status is the worst that was met.
"""

from collections.abc import Callable, Iterator

from tracker.cli.boundary import as_dict, tell, worst, write
from tracker.cli.fast_files import file_error, read_file
from tracker.cli.fast_words import read_options
from tracker.errors import BadCall, Exit, ProveoutError
from tracker.nc import scan

SCHEMA = "proveout/fingerprint/1"
FLAGS = {"--json": "json", "--strict": "strict"}
CHUNK = 1 << 20

Entry = dict[str, object]


def run(words: list[str]) -> int:
    """Print the identity of every file named.

    Args:
        words: options and files; ``-`` is standard input.

    Returns:
        The exit status: 0, or the worst of the files that could not be read.

    Raises:
        BadCall: no file is named, or an option is unknown.
    """
    options, names = read_options(words, FLAGS, {})
    if not names:
        raise BadCall("no-file", "No file is named.", fix="proveout fingerprint FILE...")
    strict = "strict" in options
    if "json" in options:
        return _as_json(names, strict=strict)
    return _as_text(names, strict=strict)


def _as_text(names: list[str], *, strict: bool) -> int:
    status: int = Exit.DONE
    for name in names:
        try:
            entry = identify(name, strict=strict)
        except ProveoutError as error:
            tell(error, as_json=False)
            status = worst(status, error.exit)
            continue
        mark = str(entry["fingerprint"])
        write(f"{mark[:8]}  {mark}  {entry['dialect']}  {name}\n")
        for note in _notes(entry):
            write(f"{name}: note: {note}\n", to_stderr=True)
    return status


def _as_json(names: list[str], *, strict: bool) -> int:
    import json

    status: int = Exit.DONE
    entries: list[Entry] = []
    errors: list[ProveoutError] = []
    for name in names:
        try:
            entries.append(identify(name, strict=strict))
        except ProveoutError as error:
            errors.append(error)
            status = worst(status, error.exit)
    document: Entry = {"schema": SCHEMA, "files": entries}
    if errors:
        weightiest = next(error for error in errors if error.exit == status)
        document["error"] = as_dict(weightiest)
        document["errors"] = [as_dict(error) for error in errors]
    write(json.dumps(document, indent=2) + "\n")
    return status


def identify(name: str, *, strict: bool = False) -> Entry:
    """The identity of one file, as it stands in the JSON document (``file`` as given).

    Raises:
        ProveoutError: the file is missing or cannot be read.
    """
    return {"file": name, **scan.identity_fields(_opener(name), strict=strict)}


def _opener(name: str) -> Callable[[], Iterator[bytes]]:
    """A function that reads the file from its start, in chunks, as often as it is called."""
    if name == "-":
        held = read_file(name)
        return lambda: iter((held,))
    return lambda: _chunks(name)


def _chunks(name: str) -> Iterator[bytes]:
    try:
        with open(name, "rb", buffering=0) as file:  # noqa: PTH123 - pathlib costs more to import than this verb
            while chunk := file.read(CHUNK):
                yield chunk
    except OSError as fault:
        raise file_error(name, fault) from fault


def _notes(entry: Entry) -> list[str]:
    notes = entry["notes"]
    return [str(note) for note in notes] if isinstance(notes, list) else []
