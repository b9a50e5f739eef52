"""Which G and M numbers belong to which kind of change.

Numbers are written as in the canonical form, without leading zeros (``"54.1"``). Meanings of G and M codes follow
NISTIR 6556 (2000) section 3.5 and 3.6 for mills; lathe meanings, and codes that report does not have, are common
practice, from memory.
"""

CALL_M = frozenset({"96", "97", "98", "99", "198"})
CALL_G = frozenset({"65", "66", "66.1", "67"})
FLOW_M = CALL_M | {"2", "30"}

STOP_M = frozenset({"0", "1", "60"})

LENGTH_G = frozenset({"43", "43.1", "44", "49"})
RADIUS_G = frozenset({"40", "41", "41.1", "42", "42.1"})

WORK_OFFSET_G = frozenset({"54", "55", "56", "57", "58", "59", "54.1", "59.1", "59.2", "59.3"})
SHIFT_G = frozenset({"52", "68", "51", "51.1", "50.1"})
"""Their blocks hold figures of the shift in axis words; G50 and G92 are judged by what stands beside them."""
SHIFT_END_G = frozenset({"69"})
MACHINE_G = frozenset({"28", "30", "53"})
OFFSET_G = WORK_OFFSET_G | SHIFT_G | SHIFT_END_G | MACHINE_G

SPEED_M = frozenset({"3", "4", "5", "19", "29"})
SPEED_G = frozenset({"96", "97"})

MODE_G = frozenset(
    {"15", "16", "17", "18", "19", "20", "21", "5.1"}
    | {"61", "61.1", "62", "63", "64", "90", "90.1", "91", "91.1", "93", "94", "95", "98", "99"}
)
MODE_M = frozenset({"48", "49"})
PATH_MODE_G = frozenset({"5.1", "61", "61.1", "64"})
"""P and Q beside them say how exactly a path is kept."""

COOLANT_M = frozenset({"7", "8", "9", "88", "89"})

LATHE_CYCLE_G = frozenset({"90", "92", "94"})
"""On a lathe with axis words beside them: turning, threading and facing cycle."""

THREAD_G = frozenset({"32", "33", "34", "35", "36", "63", "74", "76", "78", "84", "88"})
"""Tapping and threading, on one kind of machine or another; the whole number counts (``84.2`` too)."""

LINE_G = frozenset({"0", "1", "2", "3", "33"})
LATHE_THREAD_G = frozenset({"32", "34"})

TOOL_DATA_L = frozenset({"1", "10", "11", "12", "13"})
OFFSET_DATA_L = frozenset({"2", "20"})


def whole(number: str) -> str:
    """The part before the point."""
    return number.partition(".")[0]


def is_cycle(number: str) -> bool:
    """Whether a G number is one of G70 to G89, with or without a decimal."""
    return whole(number).isdigit() and 70 <= int(whole(number)) <= 89


def is_thread(number: str) -> bool:
    """Whether a G number taps or threads on some machine; lathe G92 is judged apart."""
    return whole(number) in THREAD_G
