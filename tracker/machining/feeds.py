"""Minutes of a feed move from its length and what is in force. NISTIR 6556 (2000), sections 3.5.19 (G93, G94) and 3.7.1."""

from tracker.machining.control import Control

PER_MINUTE, PER_REVOLUTION, INVERSE = "per-minute", "per-revolution", "inverse"
MODES = {"93": INVERSE, "94": PER_MINUTE, "95": PER_REVOLUTION}
LATHE_MODES = {"98": PER_MINUTE, "99": PER_REVOLUTION}
"""Common practice on turning controls whose G90 is a cycle, from memory."""


def feed_minutes(control: Control, length: float | None) -> float | None:
    """Minutes of a feed move of this length on linear axes alone; None where they cannot be told.

    Under G93 F is one over the minutes of the block, so the length does not matter.
    """
    feed = control.feed
    if not feed or feed < 0:
        return None
    if control.feed_mode == INVERSE:
        return 1 / feed
    if length is None:
        return None
    if control.feed_mode == PER_REVOLUTION:
        turns = None if control.surface else control.speed
        return length / (feed * turns) if turns and turns > 0 else None
    if control.feed_mode is None and control.lathe:
        return None
    return length / feed


def dwell_minutes(figure: float | None, spelled: str, *, letter: str) -> tuple[float | None, bool]:
    """Minutes of a dwell, and whether the figure was taken as milliseconds.

    P counts seconds (NISTIR 6556 section 3.5.4); on macro-type controls a P without a point counts milliseconds, and
    so do X and U without one (common practice, from memory). With a point all of them are seconds.
    """
    if figure is None or figure < 0:
        return None, False
    if "." in spelled or "[" in spelled or "#" in spelled:
        return figure / 60, False
    if letter != "P":
        return figure / 60, False
    return figure / 60_000, True
