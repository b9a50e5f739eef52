"""Locks of the operating system on an open file: gone by themselves when their process ends, however it ended."""

import sys
from io import FileIO
from typing import IO

if sys.platform == "win32":
    import msvcrt

    # Windows keeps others from reading the locked part itself, so a byte far behind the content is locked
    _FAR = 1 << 30

    def try_hold(file: IO[bytes] | FileIO) -> bool | None:
        """Hold ``file`` for this process: True, False when another holds it, None where that cannot be told."""
        place = file.tell()
        file.seek(_FAR)
        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except PermissionError:
            return False
        except OSError:
            return False
        finally:
            file.seek(place)
        return True

else:
    import errno
    import fcntl

    def try_hold(file: IO[bytes] | FileIO) -> bool | None:
        """Hold ``file`` for this process: True, False when another holds it, None where that cannot be told."""
        try:
            fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as fault:
            return False if fault.errno in (errno.EWOULDBLOCK, errno.EACCES, errno.EAGAIN) else None
        return True
