"""Times whole processes side by side and reads how much memory they took."""

from __future__ import annotations

import hashlib
import os
import statistics
import subprocess
import sys
import time
from dataclasses import dataclass, field


@dataclass(slots=True)
class Contender:
    """One command that takes part, and what it took so far.

    Attributes:
        name: what the table calls it.
        argv: the command; a shell line is ``["sh", "-c", line]``.
        seconds: wall time of every run.
        cpu: processor time of every run, children of the command included.
        memory: peak resident size in bytes of the largest process, 0 where the system does not tell.
        output: the first bytes of what it said last; ``sha256``: of all it said.
        environment: what is set for it besides.
        size: bytes it reads, 0 where a rate says nothing.
    """

    name: str
    argv: list[str]
    seconds: list[float] = field(default_factory=list)
    cpu: list[float] = field(default_factory=list)
    memory: int = 0
    output: bytes = b""
    sha256: str = ""
    environment: dict[str, str] = field(default_factory=dict)
    size: int = 0

    @property
    def best(self) -> float:
        """The quickest run in seconds."""
        return min(self.seconds)

    @property
    def middle(self) -> float:
        """The median run in seconds."""
        return statistics.median(self.seconds)

    @property
    def rate(self) -> float:
        """Megabytes a second of the quickest run, start of the process included; 0 where that says nothing."""
        return self.size / 1e6 / self.best


def run_once(contender: Contender, environment: dict[str, str]) -> None:
    """Run the command once and add what it took.

    Raises:
        RuntimeError: it ended with a status above 1 (1 is "different" with the comparing commands).
    """
    began = time.perf_counter()
    environment = {**environment, **contender.environment}
    process = subprocess.Popen(contender.argv, stdout=subprocess.PIPE, env=environment)
    assert process.stdout is not None
    contender.output, contender.sha256 = _tail(process.stdout)
    status, cpu, memory = _wait(process)
    contender.seconds.append(time.perf_counter() - began)
    contender.cpu.append(cpu)
    contender.memory = max(contender.memory, memory)
    process.stdout.close()
    if status > 1:
        raise RuntimeError(f"{contender.name} ended with {status}")


def interleaved(contenders: list[Contender], rounds: int) -> None:
    """Run all contenders in turn, ``rounds`` times, so that a slow spell of the machine meets them all."""
    environment = {**os.environ, "LC_ALL": "C", "GIT_PAGER": "cat"}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # an installed program has its modules compiled
    for _ in range(rounds):
        for contender in contenders:
            run_once(contender, environment)


def _tail(stream: object, keep: int = 1 << 16) -> tuple[bytes, str]:
    """Read a stream to its end; the first bytes of it, and the SHA-256 of all."""
    head, digest = b"", hashlib.sha256()
    while chunk := stream.read(1 << 20):  # type: ignore[attr-defined]
        if len(head) < keep:
            head += chunk[: keep - len(head)]
        digest.update(chunk)
    return head, digest.hexdigest()


def _wait(process: subprocess.Popen[bytes]) -> tuple[int, float, int]:
    """Status, processor seconds and peak bytes of a process that has closed its output."""
    if not hasattr(os, "wait4"):
        return process.wait(), 0.0, 0
    _, raw, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(raw)
    scale = 1 if sys.platform == "darwin" else 1024
    return process.returncode, usage.ru_utime + usage.ru_stime, usage.ru_maxrss * scale
