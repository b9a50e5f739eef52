"""The list of what is ours in a folder of a stick: JSON that a person can read, checked to the last value when read.

It lies beside the programs as ``PROVEOUT.JSON`` and says what they are, for whom they were written and until when a
person may rely on it without asking again. Where what lies there is not released, the list says so in capitals, for
itself and at every file (``unreleased``); where one that an earlier export wrote may not run any more and still lies there,
``may_not_run`` says why. Lists written before that are read as they are, and a reader that does not know
these keys passes over them. It is never evidence: anybody can write one.
"""

import json
from collections.abc import Mapping
from datetime import datetime

from tracker.clock import parse_time, utc_text
from tracker.services.ports_stick import PURPOSES, UNRELEASED, Listed, Manifest

SCHEMA = "proveout/manifest/1"
LARGEST = 8 * 1024 * 1024
_HEAD = ("stick", "machine", "purpose", "at", "by", "until")
_TEXTS = ("file", "sha256", "job", "operation", "revision", "fingerprint", "program")
_MORE = ("unreleased", "not_in_text", "may_not_run")


def write(manifest: Manifest) -> bytes:
    """The bytes of a manifest: ASCII, LF, files in the order of their names."""
    body: dict[str, object] = {
        "schema": SCHEMA,
        "stick": manifest.stick,
        "machine": manifest.machine,
        "purpose": manifest.purpose,
        **({"unreleased": UNRELEASED[manifest.purpose]} if manifest.purpose in UNRELEASED else {}),
        "at": utc_text(manifest.at),
        "by": manifest.by,
        "until": utc_text(manifest.until),
        "files": [_entry(listed) for listed in sorted(manifest.files, key=lambda listed: listed.file)],
        **manifest.extra,
    }
    return (json.dumps(body, indent=1) + "\n").encode("ascii")


def read(data: bytes) -> Manifest:
    """The manifest in these bytes.

    Raises:
        ValueError: they are none: too large, no JSON, another schema, a value missing or of the wrong kind.
    """
    if len(data) > LARGEST:
        raise ValueError("larger than any list this tool writes")
    try:
        body = json.loads(data.decode("ascii"))
    except (UnicodeDecodeError, ValueError, RecursionError) as fault:
        raise ValueError("not a list this tool wrote: no JSON") from fault
    if not isinstance(body, dict) or body.get("schema") != SCHEMA:
        raise ValueError("not a list this tool wrote, or one of another version")
    head = {key: _text(body, key) for key in _HEAD}
    if head["purpose"] not in PURPOSES:
        raise ValueError(f"unknown purpose {head['purpose']!r}")
    files = body.get("files")
    if not isinstance(files, list):
        raise ValueError("files is no list")
    _text_if_any(body, "unreleased")
    known = {*_HEAD, "schema", "files", "unreleased"}
    return Manifest(
        stick=head["stick"],
        machine=head["machine"],
        purpose=head["purpose"],
        at=_time(head["at"]),
        by=head["by"],
        until=_time(head["until"]),
        files=tuple(_listed(entry) for entry in files),
        extra={key: value for key, value in body.items() if key not in known},
    )


def _entry(listed: Listed) -> dict[str, object]:
    entry: dict[str, object] = {key: getattr(listed, key) for key in _TEXTS}
    if listed.release is not None:
        entry["release"] = listed.release
    entry.update((key, words) for key in _MORE if (words := getattr(listed, key)) is not None)
    return entry


def _listed(entry: object) -> Listed:
    if not isinstance(entry, dict):
        raise ValueError("an entry of files is no table")
    release = entry.get("release")
    if release is not None and (not isinstance(release, int) or isinstance(release, bool)):
        raise ValueError("release is no number")
    name = _text(entry, "file")
    if "/" in name or "\\" in name or name in ("", ".", ".."):
        raise ValueError(f"{name!r} is no file name")
    return Listed(
        file=name,
        sha256=_text(entry, "sha256"),
        job=_text(entry, "job"),
        operation=_text(entry, "operation"),
        revision=_text(entry, "revision"),
        fingerprint=_text(entry, "fingerprint"),
        program=_text(entry, "program"),
        release=release,
        unreleased=_text_if_any(entry, "unreleased"),
        not_in_text=_text_if_any(entry, "not_in_text"),
        may_not_run=_text_if_any(entry, "may_not_run"),
    )


def _text(table: Mapping[str, object], key: str) -> str:
    value = table.get(key)
    if not isinstance(value, str):
        raise ValueError(f"{key} is missing, or no text")
    return value


def _text_if_any(table: Mapping[str, object], key: str) -> str | None:
    return _text(table, key) if key in table else None


def _time(text: str) -> datetime:
    return parse_time(text)
