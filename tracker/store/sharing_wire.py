"""Calls of git that go over the wire: never hanging on a question nobody sees, progress passed on as it comes.

They end by themselves when we are killed, so that no lock of a reference stays behind; Ctrl-C ends them at once.

=================================================== ====================================================================
git says                                            name
=================================================== ====================================================================
authentication failed, permission denied (publickey) ``not-let-in``
could not resolve, connection refused, timed out,   ``unreachable``
no such repository
anything else                                       as `tracker.store.git_faults` has it
=================================================== ====================================================================
"""

import re
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from threading import Thread
from typing import IO

from tracker.errors import CouldNot
from tracker.store.git import Git, clean_environment
from tracker.store.git_faults import GitFailedError, not_by_ctrl_c
from tracker.store.index import patiently

_NOT_LET_IN = re.compile(
    r"authentication failed|could not read (username|password)|terminal prompts disabled|permission denied \(|"
    r"host key verification failed|access denied|error: 40[13]|not authorized",
    re.IGNORECASE,
)
_UNREACHABLE = re.compile(
    r"could not resolve|unable to access|connection (refused|timed out|reset|closed)|timed out|no route to host|"
    r"network is unreachable|does not appear to be a git repository|could not read from remote|unable to connect|"
    r"repository .* (not found|does not exist)|not a git repository|hung up unexpectedly|early eof|unable to look up",
    re.IGNORECASE,
)
_PROGRESS = re.compile(r"(\d+%|, done\.|^remote: (Enumerating|Counting|Compressing|Total)|^Total |^Delta )")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """How such calls are made: ``may_ask`` that git may ask on the terminal; ``shown`` is handed progress as it comes."""

    git: Git
    may_ask: bool = False
    shown: Callable[[bytes], None] | None = None

    def call(self, *words: str, stdin: bytes = b"") -> tuple[int, bytes, str]:
        """Exit status, standard output and what was said (without progress)."""
        config = self.git.attempt("config", "--get", "core.sshCommand")[1]
        process = subprocess.Popen(
            self.git.command(words),
            cwd=self.git.folder,
            env=self._environment(bool(config.strip())),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            # past what ends us; where it may ask, it needs the terminal that goes with our session
            start_new_session=not self.may_ask and sys.platform != "win32",
        )
        said: list[bytes] = []
        if process.stdin is None or process.stderr is None or process.stdout is None:
            raise TypeError("all three streams are pipes")
        listener = Thread(target=self._listen, args=(process.stderr, said), daemon=True)
        listener.start()
        writer = Thread(target=_feed, args=(process.stdin, stdin), daemon=True)
        writer.start()
        try:
            out = process.stdout.read()
            status = process.wait()
        except BaseException:
            process.terminate()
            process.wait()
            raise
        listener.join()
        return not_by_ctrl_c(status), out, _plain(b"".join(said))

    def must(self, address: str, *words: str, stdin: bytes = b"") -> bytes:
        """Standard output; raises CouldNot (``unreachable``, ``not-let-in``, what git says).

        A lock is waited for: a git that a killed share had started may be bringing its references up to date.
        """

        def once() -> bytes:
            status, out, said = self.call(*words, stdin=stdin)
            if status != 0:
                raise fault(address, words, status, said)
            return out

        return patiently(once)

    @property
    def progress(self) -> tuple[str, ...]:
        """The word that makes git tell its progress though it speaks into a pipe."""
        return ("--progress",) if self.shown else ("--no-progress",)

    def _listen(self, stream: IO[bytes], said: list[bytes]) -> None:
        while piece := stream.read1(4096) if hasattr(stream, "read1") else stream.read(1):
            said.append(piece)
            if self.shown:
                self.shown(piece)

    def _environment(self, own_ssh: bool) -> Mapping[str, str]:
        env = clean_environment()
        if self.may_ask:
            return env | {"GIT_TERMINAL_PROMPT": "1"}
        env["GCM_INTERACTIVE"] = "never"
        if not own_ssh and not {"GIT_SSH", "GIT_SSH_COMMAND"} & env.keys():
            env["GIT_SSH_COMMAND"] = "ssh -o BatchMode=yes"
        return env


def fault(address: str, words: tuple[str, ...], status: int, said: str) -> CouldNot:
    """The error for a call over the wire that failed."""
    lines = tuple(line for line in said.splitlines() if line.strip())[:12]
    if _NOT_LET_IN.search(said):
        fix = "sign in to it once with git (git fetch on a terminal), or ask its owner for the right; then share again"
        what = "the shared repository does not let this PC in; everything recorded here is kept"
        return CouldNot("not-let-in", what, where=address, reasons=lines, fix=fix)
    if "dubious ownership" not in said and _UNREACHABLE.search(said):
        fix = "go on working; share again when it can be reached"
        what = "the shared repository cannot be reached; everything recorded here is kept, on this disk only"
        return CouldNot("unreachable", what, where=address, reasons=lines, fix=fix)
    return GitFailedError(words, status, said.encode("utf-8"))


def on_terminal() -> bool:
    """Whether a person sits there who could be asked, and be shown progress."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def to_screen(piece: bytes) -> None:
    """Progress as git tells it, on standard error."""
    sys.stderr.write(piece.decode("utf-8", "replace").encode("ascii", "replace").decode("ascii"))
    sys.stderr.flush()


def _plain(said: bytes) -> str:
    """What was said without the lines that only tell how far it is."""
    text = said.decode("utf-8", "replace").replace("\r", "\n")
    return "\n".join(
        line.rstrip() for line in text.splitlines() if line.strip() and not _PROGRESS.search(line)
    )


def _feed(stream: IO[bytes], data: bytes) -> None:
    try:
        stream.write(data)
        stream.close()
    except OSError:  # git ended before it read everything, and its answer says why
        return
