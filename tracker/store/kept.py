"""What was read from objects before, kept under the git directory for verbs that look back.

A small database, ``proveout/index.db``: a kind, a key, what was found, and a digest over the three. Keys are ids of
objects (or digests of all that was asked about), so nothing here can grow old: what an id stands for never changes. It
is never the truth. It is written in transactions, so that two processes leave a whole one; a row whose digest is
another, a file of another version, one that is damaged, locked or not there are all the same as nothing kept, and a
damaged one is taken away. Anybody may delete it.

Verbs that only show something look at it: ``status``, ``history``, ``where``, ``report``; and ``audit``, behind its
hashing of every object. A gate, a push, a release and an export never do: there everything is read from the objects.
"""

import hashlib
import os
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from tracker import __version__
from tracker.nc.identity import RULE_VERSION

FORMAT = 10
"""Goes up when the same objects would be read otherwise, or the same question about them answered otherwise."""
_VERSION = f"{__version__} index-{FORMAT} code-{RULE_VERSION}"
_PLACE = ("proveout", "index.db")
_WAIT_SECONDS = 0.5
_AT_ONCE = 400
_MANY = 4 * _AT_ONCE


class Kept:
    """The index of one clone; every method does nothing, or finds nothing, where it cannot be had."""

    def __init__(self, common_dir: Path) -> None:
        """Args: common_dir: the git directory all working folders share."""
        self._path = common_dir.joinpath(*_PLACE)
        self._open: sqlite3.Connection | None = None
        self._gone = False

    def get(self, kind: str, keys: Iterable[str]) -> dict[str, bytes]:
        """What is kept under these keys; whatever is not whole is left out."""
        wanted = list(dict.fromkeys(keys))
        if not wanted:
            return {}
        try:
            rows = self._rows(kind, wanted)
        except sqlite3.Error as fault:
            self._give_up(fault)
            return {}
        asked = set(wanted)
        return {key: value for key, value, seal in rows if key in asked and seal == _seal(kind, key, value)}

    def one(self, kind: str, key: str) -> bytes | None:
        """The same for one key."""
        return self.get(kind, (key,)).get(key)

    def put(self, kind: str, rows: Mapping[str, bytes], *, alone: bool = False) -> None:
        """Keep these; ``alone``: and nothing else of this kind."""
        sealed = [(kind, key, value, _seal(kind, key, value)) for key, value in rows.items()]
        try:
            base = self._base()
            if base is None:
                return
            with base:
                if alone:
                    base.execute("delete from kept where kind = ?", (kind,))
                base.executemany("insert or replace into kept values (?, ?, ?, ?)", sealed)
        except sqlite3.Error as fault:
            self._give_up(fault)

    def drop_others(self, kind: str, keys: Iterable[str]) -> None:
        """Let go of what is kept of this kind under any other key."""
        try:
            base = self._base()
            if base is None:
                return
            there = {key for (key,) in base.execute("select key from kept where kind = ?", (kind,))}
            with base:
                base.executemany(
                    "delete from kept where kind = ? and key = ?", [(kind, key) for key in there - set(keys)]
                )
        except sqlite3.Error as fault:
            self._give_up(fault)

    def close(self) -> None:
        """Let go of the file."""
        base, self._open = self._open, None
        if base is not None:
            base.close()

    def _rows(self, kind: str, wanted: Sequence[str]) -> list[tuple[str, bytes, bytes]]:
        base = self._base()
        if base is None:
            return []
        if len(wanted) > _MANY:
            found = base.execute("select key, value, seal from kept where kind = ?", (kind,)).fetchall()
            return [row for row in found if all(map(isinstance, row, (str, bytes, bytes)))]
        rows: list[tuple[str, bytes, bytes]] = []
        for start in range(0, len(wanted), _AT_ONCE):
            some = wanted[start : start + _AT_ONCE]
            marks = ",".join("?" * len(some))
            # only marks are put into the words
            asked = f"select key, value, seal from kept where kind = ? and key in ({marks})"  # noqa: S608
            rows += base.execute(asked, (kind, *some)).fetchall()
        return [row for row in rows if all(map(isinstance, row, (str, bytes, bytes)))]

    def _base(self) -> sqlite3.Connection | None:
        if self._open is None and not self._gone:
            try:
                self._path.parent.mkdir(parents=True, exist_ok=True)
                self._open = _opened(self._path)
            except OSError:
                self._gone = True
        return self._open

    def _give_up(self, fault: sqlite3.Error) -> None:
        """Go on without; what is damaged, or was never a database, is taken away and made anew the next time."""
        self.close()
        self._gone = True
        if isinstance(fault, sqlite3.OperationalError):
            return  # locked, no room, no permission: another process may be at work in it
        if isinstance(fault, sqlite3.DatabaseError):
            take_away(self._path)


def forget(common_dir: Path) -> None:
    """Take the index of a clone away; it is made anew by the next verb that looks back."""
    take_away(common_dir.joinpath(*_PLACE))


def nothing_kept(common_dir: Path) -> bool:
    """Whether a clone has no index yet."""
    return not common_dir.joinpath(*_PLACE).exists()


def take_away(path: Path) -> None:
    """Delete the file and what was begun beside it."""
    for one in (path, path.with_name(f"{path.name}-journal")):
        try:
            one.unlink(missing_ok=True)
        except OSError:
            return


def _opened(path: Path) -> sqlite3.Connection:
    base = sqlite3.connect(os.fspath(path), timeout=_WAIT_SECONDS)
    try:
        # a power cut may damage it, which is found and does no harm
        base.execute("pragma synchronous = off")
        with base:
            base.execute("begin immediate" if _version(base) != _VERSION else "begin")
            if _version(base) != _VERSION:
                for name in ("kept", "about"):
                    base.execute(f"drop table if exists {name}")
                base.execute("create table about (version text)")
                base.execute(
                    "create table kept (kind text, key text, value blob, seal blob, primary key (kind, key)) without rowid"
                )
                base.execute("insert into about values (?)", (_VERSION,))
    except BaseException:
        base.close()
        raise
    return base


def _version(base: sqlite3.Connection) -> object:
    if not base.execute("select 1 from sqlite_master where name = 'about'").fetchone():
        return None
    row = base.execute("select version from about").fetchone()
    return row[0] if row else None


def _seal(kind: str, key: str, value: bytes) -> bytes:
    digest = hashlib.sha256(f"{kind} {key} ".encode("utf-8", "surrogatepass"))
    digest.update(value)
    return digest.digest()
