"""A folder on a medium of a stated speed, as a stick's: a file system in an image, slowed down by the kernel.

``with slow_stick(100) as folder``: writing and reading take no more than so many million bytes a second each, for
whoever writes and reads (blkio.throttle of the kernel's control groups, version 1, on a loop device: Linux
``Documentation/admin-guide/cgroup-v1/blkio-controller.rst``). A stick that shares one wire for both is no quicker, so
what is measured here flatters nobody who writes and reads one after the other. Needs root; where a piece is missing,
RuntimeError says which.
"""

import contextlib
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

THROTTLES = Path("/sys/fs/cgroup/blkio")
IMAGE_BYTES = 2_000_000_000


@contextlib.contextmanager
def slow_stick(speed: int, place: Path) -> Iterator[Path]:
    """A folder on a medium of ``speed`` million bytes a second, whose image lies below ``place``; gone afterwards.

    Raises RuntimeError where this machine has no way to make one.
    """
    with tempfile.TemporaryDirectory(dir=place) as made, contextlib.ExitStack() as stack:
        image, folder = Path(made) / "image", Path(made) / "stick"
        folder.mkdir()
        with image.open("wb") as file:
            file.truncate(IMAGE_BYTES)
        _run("mkfs.ext4", "-q", "-F", "-m", "0", "-O", "^has_journal", str(image))
        device = _run("losetup", "--find", "--show", str(image))
        stack.callback(_run, "losetup", "--detach", device)
        _run("mount", device, str(folder))
        stack.callback(_run, "umount", str(folder))
        number = (Path("/sys/block") / Path(device).name / "dev").read_text(encoding="ascii").strip()
        for way in ("read", "write"):
            _throttle(way, number, speed * 1_000_000)
            stack.callback(_throttle, way, number, 0)
        yield folder


def _run(*words: str) -> str:
    try:
        return subprocess.run(words, check=True, capture_output=True, text=True).stdout.strip()
    except (OSError, subprocess.CalledProcessError) as fault:
        said = getattr(fault, "stderr", None) or fault
        raise RuntimeError(f"no slow stick here: {' '.join(words)}: {said}") from fault


def _throttle(way: str, number: str, speed: int) -> None:
    try:
        (THROTTLES / f"blkio.throttle.{way}_bps_device").write_text(f"{number} {speed}", encoding="ascii")
    except OSError as fault:
        raise RuntimeError(f"no slow stick here: {fault}") from fault
