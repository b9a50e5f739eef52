"""A program in another language, for a machine: held to the machine's rules as it is, since no byte of it may change.

All of it may be code, a remark, a blank and a line end too: nobody here can read it. So nothing is put in, taken out
or put otherwise, and the text says neither what it is nor that it is not proved.

What the machine does not read is refused: characters it has not, a line longer than it takes. Line ends and ``%`` lines
are named and left. What shop.toml says of them is how an export *writes*, often nobody's word but the default, and no
limit of the control; the text was proved, or is about to be, with the very bytes it has, and with other line ends it
would be another text and its proof void. To refuse it would take away what is proven; whoever loads it is told. A binary
has no lines: that they were not looked at is said.
"""

import re
from collections.abc import Iterator

from tracker.records.shop import Machine
from tracker.stick.form import ENDS, TAKES, between_percents, named_few, without_leaders

AS_IT_IS = "not in word-address form: written as it is, without a stamp"
NO_LINES = "a binary: no lines in it, so their length and ends were not looked at"
_NOT_TAKEN = {
    "ascii": re.compile(rb"[^\x20-\x7e\t\r\n]"),
    "ascii-upper": re.compile(rb"[^\x20-\x60\x7b-\x7e\t\r\n]"),
}
_END_NAMES = {b"\r\n": "CR LF", b"\n": "LF", b"\r": "CR"}
_SHOWN = 40


def problems(data: bytes, machine: Machine) -> tuple[str, ...]:
    """Why these bytes may not go to the machine: line, what, and how to put it right; of many lines the first few."""
    strange, long = _strange_lines(data, machine), _long_lines(data, machine)
    keys = [key for key, said in (("characters", strange), ("max_line", long)) if said]
    if not keys:
        return ()
    put_right = (
        f"all of it may be code, so nothing of it is changed here: change it in the office and check it in, to be proved "
        f"anew; or, if {machine.id} does read it, change {' and '.join(keys)} in its table of shop.toml"
    )
    return (*named_few(strange), *named_few(long), put_right)


def notes(data: bytes, machine: Machine) -> tuple[str, ...]:
    """What is said of a text that goes as it is: that no stamp is in it, and what another text would be written with."""
    if is_binary(data):
        return (AS_IT_IS, NO_LINES)
    return (AS_IT_IS, *_ends(data, machine), *_percents(data, machine))


def is_binary(data: bytes) -> bool:
    """Whether it is no text: a NUL in the midst of it; those at its ends are the leader of a tape."""
    return b"\x00" in without_leaders(data)


def _strange_lines(data: bytes, machine: Machine) -> list[str]:
    """Lines with a character the machine does not take; the first of each is named."""
    pattern, said = _NOT_TAKEN.get(machine.characters), []
    number, at, end = 1, 0, _end_of_lines(data)
    while pattern is not None and (found := pattern.search(data, at)) is not None:
        number, at = number + data.count(end, at, found.start()), found.start()
        shown = f"byte {found[0].hex().upper()} in {_around(data, at)!r}"
        said.append(f"line {number}: {shown}: {machine.id} takes {TAKES[machine.characters]} only")
        at = data.find(end, at)
        if at < 0:
            break
    return said


def _long_lines(data: bytes, machine: Machine) -> list[str]:
    if not machine.max_line or is_binary(data):
        return []
    lengths = (len(line.removesuffix(b"\r")) for line in data.split(_end_of_lines(data)))
    return [
        f"line {number} is {length} characters long, {machine.id} reads {machine.max_line}"
        for number, length in enumerate(lengths, 1)
        if length > machine.max_line
    ]


def _end_of_lines(data: bytes) -> bytes:
    """What lines are counted by: LF, and CR only where there is no LF at all."""
    return b"\r" if b"\r" in data and b"\n" not in data else b"\n"


def _around(data: bytes, at: int) -> str:
    """The line a byte stands in, cut short around it."""
    start = max(data.rfind(b"\n", 0, at), data.rfind(b"\r", 0, at), at - _SHOWN) + 1
    return re.split(rb"[\r\n]", data[start : at + _SHOWN], maxsplit=1)[0].decode("latin-1").strip()


def _ends(data: bytes, machine: Machine) -> Iterator[str]:
    both = data.count(b"\r\n")
    counts = {b"\r\n": both, b"\n": data.count(b"\n") - both, b"\r": data.count(b"\r") - both}
    wanted = ENDS[machine.line_end]
    other = [_END_NAMES[end] for end, count in counts.items() if count and end != wanted]
    if other:
        yield (
            f"line ends are {' and '.join(other)}, where {_END_NAMES[wanted]} is written for {machine.id}: left as they are; "
            "if the control does not read them, change them in the office and have the text proved"
        )


def _percents(data: bytes, machine: Machine) -> Iterator[str]:
    if machine.percent == "both" and between_percents(data, ENDS[machine.line_end]) != data:
        yield f"no % line first and last, which {machine.id} wants: none is put in"
