"""The receive journal: what was pushed, when by the server's clock, and by whom as far as the server knows.

``proveout/receive-journal`` below the git directory; its lines hold each other (`tracker.chained`). That the last ones are
missing shows where the references are not as the journal last says. Root on the server can write a whole new one; keep
a copy elsewhere against that.
"""

import os
import time
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path

from tracker.chained import links, next_line
from tracker.clock import utc_text
from tracker.errors import CouldNot
from tracker.frozen import dataclass
from tracker.store.held import try_hold

PASSED, TURNED_AWAY, BEGUN = "passed", "turned away", "begun"
_PATIENCE = 10.0
_MOVED = "its last lines are gone, or it was changed past the gate"
_WHO = ("REMOTE_USER", "GIT_PUSH_CERT_KEY", "SSH_CONNECTION", "REMOTE_ADDR", "USER", "LOGNAME", "USERNAME")


@dataclass(frozen=True, slots=True, kw_only=True)
class Received:
    """One push: ``changes`` of references as (reference, old, new); ``verdict`` passed, or turned away and why."""

    at: datetime
    who: Mapping[str, str]
    way: str
    changes: Sequence[tuple[str, str | None, str | None]]
    verdict: str
    reasons: Sequence[str] = ()


def pusher(environment: Mapping[str, str]) -> tuple[Mapping[str, str], str]:
    """Whom the environment of a hook tells of, and the way the push came: ssh, https, or this PC itself (local)."""
    who = {name: environment[name] for name in _WHO if environment.get(name)}
    if environment.get("SSH_CONNECTION") or environment.get("SSH_CLIENT"):
        return who, "ssh"
    return who, "https" if environment.get("GATEWAY_INTERFACE") or environment.get("REMOTE_ADDR") else "local"


def journal_file(git_dir: Path) -> Path:
    """Where it lies."""
    return git_dir / "proveout" / "receive-journal"


def note(git_dir: Path, received: Received) -> None:
    """Add a line; raises CouldNot (``journal-not-written``): then nothing may be taken in."""
    path = journal_file(git_dir)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("a+b") as file:
            _wait_for(lambda: try_hold(file))
            file.seek(0)
            lines = file.read().splitlines()
            file.write(next_line(lines, _said(received)) + b"\n")
            file.flush()
            os.fsync(file.fileno())
    except OSError as fault:
        raise CouldNot(
            "journal-not-written",
            f"the receive journal cannot be written, so nothing is taken in: {fault.strerror or fault}",
            where=str(path),
            fix="look at the permissions and the room of that folder on the server",
        ) from fault


def begin(git_dir: Path, at: datetime, now: Mapping[str, str]) -> bool:
    """Begin the journal with the references as they are; False where it has begun already."""
    if journal_file(git_dir).exists():
        return False
    rows = [(ref, None, value) for ref, value in sorted(now.items())]
    note(git_dir, Received(at=at, who={}, way="install", changes=rows, verdict=BEGUN))
    return True


def _said(received: Received) -> Mapping[str, object]:
    return {
        "at": utc_text(received.at),
        "who": dict(received.who),
        "way": received.way,
        "changes": [list(change) for change in received.changes],
        "verdict": received.verdict,
        "reasons": list(received.reasons),
    }


def _wait_for(held: Callable[[], bool | None]) -> None:
    end = time.monotonic() + _PATIENCE
    while held() is False:
        if time.monotonic() > end:
            raise CouldNot("locked", "another push holds the receive journal", fix="push again in a moment")
        time.sleep(0.02)


def journal_faults(git_dir: Path, now: Mapping[str, str]) -> tuple[int, list[str]]:
    """How many lines there are, and what is wrong with them.

    Args:
        git_dir: of the server's repository.
        now: its references as they are.

    Raises:
        CouldNot: ``no-journal``, ``no-permission``.
    """
    lines = _lines(journal_file(git_dir))
    faults: list[str] = []
    last: dict[str, str | None] = {}
    may_be: dict[str, set[str | None]] = {}
    for one in links(lines):
        changes = _changes(one.said)
        if changes is None:
            faults.append(f"line {one.number} cannot be read")
            continue
        if not one.follows:
            faults.append(
                f"line {one.number} does not follow the one before it: a line was taken out, put in or changed"
            )
        if one.said is not None and one.said.get("verdict") in (PASSED, BEGUN):
            faults += _broken_off(one.number, changes, last, may_be)
            last.update({ref: new for ref, _, new in changes})
    seen = [*last, *(ref for ref in now if ref not in last)]
    moved = [ref for ref in seen if now.get(ref) != last.get(ref)]
    faults += [f"{ref} is not where the journal last saw it: {_MOVED}" for ref in moved]
    return len(lines), faults


def _lines(path: Path) -> list[bytes]:
    try:
        return path.read_bytes().splitlines()
    except FileNotFoundError:
        raise CouldNot(
            "no-journal",
            "there is no receive journal here: none was begun, or it was taken away",
            where=str(path),
            fix="on a server: proveout install --server BARE_REPO begins one; where there was one, ask who works there",
        ) from None
    except OSError as fault:
        fix = "ask whoever looks after the server for the right to read it"
        raise CouldNot(
            "no-permission", f"the receive journal cannot be read: {fault.strerror}", where=str(path), fix=fix
        ) from fault


def _broken_off(
    number: int,
    changes: Sequence[tuple[str, str | None, str | None]],
    last: Mapping[str, str | None],
    may_be: dict[str, set[str | None]],
) -> list[str]:
    """References a push found elsewhere than the lines before it can have left them.

    ``last``: where the line before left each. ``may_be``: where each may be, carried on: of two pushes at once both may
    have passed the gate, and one has not landed.
    """
    faults: list[str] = []
    for ref, old, new in changes:
        if old not in may_be.get(ref, {None}):
            faults.append(
                f"line {number} found {ref} at {_short(old)}, where no push before it left it: it was changed past the gate"
            )
        at_once = old != last.get(ref)
        may_be[ref] = {old, new, *(may_be.get(ref, ()) if at_once else ())}
    return faults


def _short(commit: str | None) -> str:
    return commit[:12] if commit else "nothing"


def _changes(said: Mapping[str, object] | None) -> list[tuple[str, str | None, str | None]] | None:
    """Reference, old and new value of each change a line tells of; None where it is no line of ours."""
    rows = said.get("changes") if said is not None else None
    if not isinstance(rows, list) or not all(isinstance(row, list) and len(row) == 3 for row in rows):
        return None
    return [(ref, old, new) for ref, old, new in rows]
