"""How git is called: one place, one manner.

Every call is a tuple of words (never a shell), answers are bytes, paths come from ``-z`` output. The environment is
scrubbed first: a ``GIT_DIR`` or ``GIT_INDEX_FILE`` that leaked in from a hook or a rebase would send us to another
repository's index. ``GIT_NO_REPLACE_OBJECTS=1`` shows what was really recorded, ``LC_ALL=C`` keeps messages readable
to us, and settings that run other programs or change what is printed are switched off on the command line.
"""

import os
import sys
from collections.abc import Mapping, Sequence
from contextlib import suppress
from functools import cache

from tracker.errors import BadCall, CouldNot
from tracker.frozen import dataclass
from tracker.store.git_faults import GitFailedError, not_by_ctrl_c
from tracker.store.spawned import Spawned, can_spawn

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    import subprocess

    Process = Spawned | subprocess.Popen[bytes]

OLDEST = (2, 30)

# settings of a person or of a repository that must not reach what we read
_ALWAYS = (
    "--no-pager",
    "-c",
    "core.quotePath=false",
    "-c",
    "core.fsmonitor=false",  # would run a program the repository names
    "-c",
    "core.useReplaceRefs=false",
    "-c",
    "advice.detachedHead=false",
)
# how to reach servers and which configuration is in force: a person's own business, kept
_KEPT = frozenset(
    {
        "GIT_ASKPASS",
        "GIT_CEILING_DIRECTORIES",
        "GIT_CONFIG_GLOBAL",
        "GIT_CONFIG_NOSYSTEM",
        "GIT_CONFIG_SYSTEM",
        "GIT_DISCOVERY_ACROSS_FILESYSTEM",
        "GIT_EXEC_PATH",
        "GIT_SSH",
        "GIT_SSH_COMMAND",
        "GIT_SSH_VARIANT",
    }
)
# a hook of a server sees objects that are not in the repository yet only through these
_KEPT_IN_HOOKS = frozenset(
    {"GIT_ALTERNATE_OBJECT_DIRECTORIES", "GIT_DIR", "GIT_OBJECT_DIRECTORY", "GIT_QUARANTINE_PATH"}
)


@cache
def find_git() -> str:
    """Full path of the git program; raises CouldNot (``no-git``).

    Looked up by hand in PATH: on Windows a plain ``git`` would also be taken from the folder in hand, which may be
    one that was just fetched.
    """
    names = ("git.exe", "git.cmd") if sys.platform == "win32" else ("git",)
    for folder in os.environ.get("PATH", os.defpath).split(os.pathsep):
        for name in names:
            program = os.path.join(folder, name)  # noqa: PTH118 - pathlib costs more than the look-up
            if os.path.isabs(folder) and os.path.isfile(program) and os.access(program, os.X_OK):  # noqa: PTH113, PTH117
                return program
    raise CouldNot(
        "no-git",
        "git is not installed, or not in PATH",
        fix="install git 2.30 or newer (git-scm.com) and open a new terminal",
    )


def clean_environment(*, hook: bool = False) -> dict[str, str]:
    """The environment for git: ours without git's own variables, except those that are meant.

    Args:
        hook: called from a hook of git: keep what tells where its repository and its incoming objects are.
    """
    kept = _KEPT | _KEPT_IN_HOOKS if hook else _KEPT
    env = {key: text for key, text in os.environ.items() if not key.startswith("GIT_") or key in kept}
    env.update(
        LC_ALL="C",
        LANGUAGE="C",
        GIT_NO_REPLACE_OBJECTS="1",
        GIT_NO_LAZY_FETCH="1",
        GIT_OPTIONAL_LOCKS="0",
        GIT_TERMINAL_PROMPT="0",
    )
    return env


@dataclass(frozen=True, slots=True, kw_only=True)
class Git:
    """git, called in one folder; ``id_length`` of object ids is 40 (SHA-1) or 64 (SHA-256).

    In a hook ``git_dir`` is the repository git itself named, so that no other is found from the folder. ``here``: the
    folder is the one in hand, so that git can be started in the quickest way. ``holding``: open files git keeps open too, so that
    the locks on them outlive us as long as a git that we started does (not on Windows). ``lasting``: git comes to its
    end whatever becomes of us (Ctrl-C, a closed terminal, a kill), so that it leaves no lock of its own behind.
    """

    folder: str
    hook: bool = False
    git_dir: str = ""
    here: bool = False
    holding: tuple[int, ...] = ()
    lasting: bool = False
    id_length: int = 40

    @property
    def zero(self) -> str:
        """The id that stands for nothing."""
        return "0" * self.id_length

    def command(self, words: Sequence[str | bytes]) -> list[str | bytes]:
        """The whole command line for these words."""
        return [find_git(), *_ALWAYS, *words]

    def run(
        self,
        *words: str | bytes,
        stdin: bytes = b"",
        env: Mapping[str, str] | None = None,
        ok: tuple[int, ...] = (0,),
    ) -> bytes:
        """Standard output of one call; raises GitFailedError (a CouldNot) for any status not in ``ok``."""
        status, out, said = self.attempt(*words, stdin=stdin, env=env)
        if status not in ok:
            raise GitFailedError(words, status, said)
        return out

    def attempt(
        self, *words: str | bytes, stdin: bytes = b"", env: Mapping[str, str] | None = None
    ) -> tuple[int, bytes, bytes]:
        """Exit status, standard output and standard error of one call, whatever the status is.

        Raises BadCall (``no-such-folder``), CouldNot (``no-git``, ``no-permission``), KeyboardInterrupt when Ctrl-C ended it.
        """
        import subprocess  # see `start`

        try:
            if self.lasting:
                return self._to_its_end(words, stdin, env)
            done = subprocess.run(
                self.command(words),
                cwd=self.folder,
                env=self._environment() | dict(env or {}),
                input=stdin,
                capture_output=True,
                check=False,
            )
        except (NotADirectoryError, FileNotFoundError) as fault:
            fix = "check the name: it must be a folder that is there"
            raise BadCall("no-such-folder", "there is no such folder", where=self.folder, fix=fix) from fault
        except PermissionError as fault:
            fix = "ask its owner for the right to enter it"
            raise CouldNot(
                "no-permission", "this folder may not be entered", where=self.folder, fix=fix
            ) from fault
        return not_by_ctrl_c(done.returncode), done.stdout, done.stderr

    def _to_its_end(
        self, words: Sequence[str | bytes], stdin: bytes, env: Mapping[str, str] | None
    ) -> tuple[int, bytes, bytes]:
        """`attempt` in a group of its own, so that no signal meant for us reaches git.

        A Ctrl-C meanwhile is raised when git is through; one who insists is not kept waiting, and git goes on alone.
        """
        import subprocess  # see `start`

        from tracker.store.held_back import held_back

        with held_back():
            process = subprocess.Popen(
                self.command(words),
                cwd=self.folder,
                env=self._environment() | dict(env or {}),
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                creationflags=getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0),  # Windows only
                start_new_session=sys.platform != "win32",
                pass_fds=self.holding if sys.platform != "win32" else (),
            )
            out, said = process.communicate(stdin)
        return not_by_ctrl_c(process.returncode), out, said

    def _environment(self) -> dict[str, str]:
        own = {"GIT_DIR": self.git_dir} if self.git_dir else {}
        return clean_environment(hook=self.hook) | own

    def begin(self, *words: str, stdin: bytes = b"") -> "Asked":
        """A call whose answer is fetched later; git works on it meanwhile. Fetch or drop it."""
        process = self.start(*words)
        if process.stdin is not None:
            with suppress(OSError):  # git has ended already, and its answer says why
                process.stdin.write(stdin)
                process.stdin.close()
            process.stdin = None
        return Asked(words, process)

    def start(self, *words: str) -> "Process":
        """A call that stays open, with pipes on all three streams."""
        if self.here and can_spawn():
            return Spawned(self.command(words), self._environment())
        import subprocess

        return subprocess.Popen(
            self.command(words),
            cwd=self.folder,
            env=self._environment(),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )


class Asked:
    """A call of git that runs by the side."""

    def __init__(self, words: Sequence[str | bytes], process: "Process") -> None:
        self._words = words
        self._process = process

    def answer(self) -> bytes:
        """Its standard output; raises GitFailedError (a CouldNot) when it failed."""
        out, said = self._process.communicate()
        status = not_by_ctrl_c(self._process.wait())
        if status != 0:
            raise GitFailedError(self._words, status, said)
        return out

    def drop(self) -> None:
        """End it; nobody wants to know any more."""
        if self._process.returncode is None:
            self._process.kill()
            self._process.communicate()


def path_text(raw: bytes) -> str:
    """A path of git as text; bytes that are no UTF-8 become surrogates and come back unchanged."""
    return raw.decode("utf-8", "surrogateescape")


def path_bytes(path: str) -> bytes:
    """The bytes git knows this path by."""
    return path.encode("utf-8", "surrogateescape")
