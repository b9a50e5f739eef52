"""Where the media of this PC are, by the name each carries.

A name is the volume's label, without regard to case. Windows is asked for the label of every drive (GetVolumeInformationW,
learn.microsoft.com). macOS mounts a volume at ``/Volumes/<label>``. On Linux ``/proc/self/mounts`` says what is mounted
where (proc(5)) and ``/dev/disk/by-label`` which device carries which label (udev); desktops mount a stick at a folder
called by its label, which serves where the second is not there (a container, a share).
"""

import os
import re
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from tracker.errors import BadCall
from tracker.records.shop import Stick

MOUNTS = Path("/proc/self/mounts")
LABELS = Path("/dev/disk/by-label")
VOLUMES = Path("/Volumes")
_OCTAL = re.compile(r"\\([0-7]{3})")  # a blank in /proc/self/mounts is \040
_HEX = re.compile(r"\\x([0-9a-fA-F]{2})")  # a blank in a name below by-label is \x20


def folder_of(stick: Stick) -> str:
    """The folder of a stick of shop.toml on this PC.

    Raises:
        BadCall: ``no-stick``: no medium here carries its label; ``which-stick``: several do.
    """
    if stick.path is not None:
        return stick.path
    label = stick.label or stick.name
    found = folders_labelled(label)
    if not found:
        raise BadCall(
            "no-stick",
            f"{stick.name} is not in: no medium of this PC carries the label {label}",
            fix="put it in, or name its folder: --to DIR",
        )
    if len(found) > 1:
        raise BadCall(
            "which-stick",
            f"several media carry the label {label}: {', '.join(str(one) for one in found)}",
            fix="take the others out, or name the folder of the right one: --to DIR",
        )
    return str(found[0])


def folders_labelled(label: str) -> tuple[Path, ...]:
    """Folders of media that carry this label, each once; none where no such medium is in."""
    wanted = label.strip().casefold()
    return tuple(dict.fromkeys(folder for name, folder in _media() if name.strip().casefold() == wanted))


def _media() -> Iterable[tuple[str, Path]]:
    if sys.platform == "win32":
        return _drives()
    if sys.platform == "darwin":
        return of_volumes(VOLUMES)
    return of_mounts(MOUNTS, LABELS)


def of_volumes(volumes: Path) -> Iterator[tuple[str, Path]]:
    """Label and folder of what macOS has mounted."""
    try:
        yield from ((one.name, one) for one in sorted(volumes.iterdir()) if one.is_dir())
    except OSError:
        return


def of_mounts(mounts: Path, labels: Path) -> Iterator[tuple[str, Path]]:
    """Label and folder of what Linux has mounted: by the label of the device, and by the last name of the folder."""
    try:
        lines = mounts.read_text(encoding="utf-8", errors="surrogateescape").splitlines()
    except OSError:
        return
    named = _labels_of_devices(labels)
    for line in lines:
        device, _, rest = line.partition(" ")
        folder = Path(_OCTAL.sub(lambda code: chr(int(code[1], 8)), rest.partition(" ")[0]))
        if device.startswith("/dev/") and os.path.realpath(device) in named:
            yield named[os.path.realpath(device)], folder
        elif folder.name and not str(folder).startswith(("/proc", "/sys", "/dev")):
            yield folder.name, folder


def _labels_of_devices(labels: Path) -> dict[str, str]:
    """The label each device carries, by the real path of the device."""
    try:
        links = sorted(labels.iterdir())
    except OSError:
        return {}
    return {os.path.realpath(link): _HEX.sub(lambda code: chr(int(code[1], 16)), link.name) for link in links}


def _drives() -> Iterator[tuple[str, Path]]:  # pragma: no cover - Windows alone
    if sys.platform != "win32":
        return
    import ctypes

    kernel = ctypes.windll.kernel32
    present = kernel.GetLogicalDrives()
    for place in range(26):
        if present >> place & 1:
            root = f"{chr(ord('A') + place)}:\\"
            name = ctypes.create_unicode_buffer(261)
            if kernel.GetVolumeInformationW(root, name, 261, None, None, None, None, 0):
                yield name.value, Path(root)
