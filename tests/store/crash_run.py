"""One check-in in a process of its own that ends itself, hard, at a given step; for the crash tests."""

import os
import signal
import sys

from tests.store.shop_repo import AT, KIM
from tracker.services.ports import NewFile
from tracker.store.git import Git
from tracker.store.open_clone import open_clone


def main() -> None:
    folder, stop, path = sys.argv[1:4]
    clone = open_clone(folder)

    def die(step: str) -> None:
        if step == stop:
            os.kill(os.getpid(), signal.SIGKILL) if hasattr(signal, "SIGKILL") else os._exit(9)

    clone.step = die
    if stop.startswith("git:"):
        _die_before_git(stop.removeprefix("git:"), die, stop)
    clone.commit(
        [NewFile(path=path, data=b'format = 1\nevent = "hold"\n')],
        from_work_tree=["jobs/4471/op10/O1001.nc"],
        message="m",
        author=KIM,
        at=AT,
    )


def _die_before_git(number: str, die, stop: str) -> None:
    """End before the n-th call of git, wherever that is."""
    calls = 0
    real = Git.attempt

    def attempt(self, *words, **more):
        nonlocal calls
        calls += 1
        if calls == int(number):
            die(stop)
        return real(self, *words, **more)

    Git.attempt = attempt


if __name__ == "__main__":
    main()
