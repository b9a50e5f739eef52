"""Physical lines of a file as written."""

from tracker.nc.compare_find import start_of

FEW = 64
"""Lines looked up one by one before the file is cut into lines."""


class Lines:
    """The lines of one file, from 1: parted by LF, or by CR in a file without LF."""

    __slots__ = ("_asked", "_data", "_lines")

    def __init__(self, data: bytes) -> None:
        self._data = data if b"\n" in data else data.replace(b"\r", b"\n")
        self._lines: list[bytes] | None = None
        self._asked = 0

    def text(self, line: int) -> str:
        """Line ``line`` without line end, leader bytes and blanks at its ends, as latin-1."""
        self._asked += 1
        if self._lines is None and self._asked > FEW:
            self._lines = self._data.split(b"\n")
        if self._lines is not None:
            raw = self._lines[line - 1]
        else:
            start = start_of(self._data, line - 1)
            end = self._data.find(b"\n", start)
            raw = self._data[start : end if end >= 0 else None]
        return raw.decode("latin-1").strip(" \t\r\0")
