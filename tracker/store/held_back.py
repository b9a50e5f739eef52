"""Ctrl-C held back while a program we started may not be left alone halfway."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

# so often it is pressed before somebody is not kept waiting any longer
_INSISTS = 3


@contextmanager
def held_back() -> Iterator[None]:
    """Raise KeyboardInterrupt behind what runs here, not in the middle of it; in it only at the third press.

    An exception in the middle of starting a program, or of handing it its input, would leave it waiting for ever, or
    with half of its input. Outside the main thread nothing is ever raised, and a handler of somebody else stays.
    """
    pressed = 0

    def count(_number: int, _frame: FrameType | None) -> None:
        nonlocal pressed
        pressed += 1
        if pressed >= _INSISTS:
            raise KeyboardInterrupt

    if signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield
        return
    try:
        signal.signal(signal.SIGINT, count)
    except ValueError:  # not the main thread
        yield
        return
    try:
        yield
    except Exception as fault:
        if pressed:  # a program of ours was ended by the same press
            raise KeyboardInterrupt from fault
        raise
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    if pressed:
        raise KeyboardInterrupt
