"""The files of a stick hashed beside other work: while the records are read, the medium need not wait.

Only what is worth it: short files are read whole when their turn comes, and very long ones are read in pieces then.
What cannot be hashed is told to whoever asks for it.
"""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

from tracker.services.stick_view import Contents

AT_ONCE = 2
SHORT = 16 * 1024
LONG = 16 * 1024 * 1024


@contextmanager
def hashed_beside(contents: Contents) -> Iterator[None]:
    """While this lasts, files are hashed in the order they lie there, and `Contents.digest` has them from there."""
    files = [one.path for one in contents.files() if SHORT <= one.size <= LONG]
    pool = ThreadPoolExecutor(AT_ONCE)
    try:
        contents.coming.update({path: pool.submit(contents.medium.digest, path) for path in files})
        yield
    finally:
        pool.shutdown(cancel_futures=True)
        contents.coming.clear()
