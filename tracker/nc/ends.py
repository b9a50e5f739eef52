"""Line ends and plain characters of a whole text, whatever it says. The reference; `tracker.nc.scan` has it compiled."""

_PLAIN_BYTES = bytes(range(0x20, 0x7F)) + b"\t\r\n"


def is_plain(data: bytes) -> bool:
    """Whether all of it is printable ASCII, tabs and line ends."""
    return not data.translate(None, _PLAIN_BYTES)


def with_crlf(data: bytes) -> bytes:
    """``data``, which holds no CR, with CR LF for every LF."""
    return data.replace(b"\n", b"\r\n")


def same_but_ends(old: bytes, new: bytes, at: int, size: int) -> bool:
    """Whether ``new`` without the ``size`` bytes from ``at`` on is ``old`` line by line, its line ends aside.

    The last line of ``new`` has its end, where that of ``old`` may lack it. Never true of a text with a byte that is not
    printable ASCII, tab or line end, of one with a CR that stands before no LF, or of a stretch that opens within a line.
    """
    if at < 0 or size < 0 or at + size > len(new) or not is_plain(old):
        return False
    before, after = new[:at], new[at + size :]
    if any(part and not part.endswith(b"\n") for part in (before, after)):
        return False
    if old.count(b"\r") != old.count(b"\r\n"):
        return False
    lines = old.replace(b"\r\n", b"\n")
    whole = lines if lines.endswith(b"\n") or not lines else lines + b"\n"
    return (before + after).replace(b"\r\n", b"\n") == whole
