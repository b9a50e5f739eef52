"""What an audit of this clone found before, so that one of the same state need not look at everything again.

Three notes under the git directory, all safe to delete and read by ``audit`` alone (never by the gate, a push, status or
export): the tag objects of releases that could be derived again, whose ids stand for commit, record and history, so
that what was found can never change under the same rules; what was found of commits by themselves, and the tips that
lead to all of them; and the whole finding of one state, which is named by every
reference with its object id. Objects are hashed anew before any is looked at.
"""

import json
import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import cast

_DERIVED = ("proveout", "audit-derived")
_FOUND = ("proveout", "audit-found")
_JUDGED = ("proveout", "audit-commits")
_END = "end"


def derived_before(common_dir: Path, rules: str) -> set[str]:
    """Ids of the tag objects of releases that could be derived again under these rules."""
    lines = _read(common_dir, _DERIVED).split("\n")
    return set(lines[1:-1]) if lines[0] == rules and lines[-1] == _END else set()


def note_derived(common_dir: Path, rules: str, tags: Iterable[str]) -> None:
    """Write them down; silently nothing where it cannot be written."""
    _write(common_dir, _DERIVED, "\n".join([rules, *sorted(tags), _END]))


def found_before(common_dir: Path, state: str) -> Mapping[str, object] | None:
    """What was found in exactly this state, or None."""
    return _found(common_dir, _FOUND, state)


def note_found(common_dir: Path, state: str, found: Mapping[str, object]) -> None:
    """Write it down; silently nothing where it cannot be written."""
    _write(common_dir, _FOUND, json.dumps({"state": state, "found": found}))


def judged_before(common_dir: Path, rules: str) -> Mapping[str, object] | None:
    """What was found of commits under these rules, or None."""
    return _found(common_dir, _JUDGED, rules)


def note_judged(common_dir: Path, rules: str, found: Mapping[str, object]) -> None:
    """Write it down; silently nothing where it cannot be written."""
    _write(common_dir, _JUDGED, json.dumps({"state": rules, "found": found}))


def _found(common_dir: Path, place: tuple[str, ...], state: str) -> Mapping[str, object] | None:
    try:
        said = json.loads(_read(common_dir, place))
    except ValueError:
        return None
    if not isinstance(said, dict) or said.get("state") != state or not isinstance(said.get("found"), dict):
        return None
    return cast(Mapping[str, object], said["found"])


def _read(common_dir: Path, place: tuple[str, ...]) -> str:
    try:
        return common_dir.joinpath(*place).read_text("utf-8")
    except (OSError, ValueError):
        return ""


def _write(common_dir: Path, place: tuple[str, ...], text: str) -> None:
    path = common_dir.joinpath(*place)
    beside = path.with_name(f"{path.name}.{os.getpid()}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text(text, "utf-8", newline="\n")
        beside.replace(path)
    except (OSError, ValueError):
        return
