"""A stick in memory behind the real copying rules."""

from tests.fakes.disk import MemoryDisk
from tracker.stick.medium import FolderMedium


def memory_medium(
    files: dict[str, bytes] | None = None, *, label: str = "BLUE-1"
) -> tuple[FolderMedium, MemoryDisk]:
    disk = MemoryDisk(files)
    return FolderMedium(disk, label), disk
