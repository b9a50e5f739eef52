"""What a program says of its own setup sheet: tools with H and D, work offsets, units, calls, the words of its head.

Everything comes from running the program through; what that does not follow is named in the notes, and what a program
cannot know (diameter, stick-out, fixture, clearance) is left to a person.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence

from tracker.frozen import dataclass, replace
from tracker.machining.setting import Setting
from tracker.machining.summarise import summarise
from tracker.machining.summary import Summary, ToolSummary
from tracker.nc.calls import header_comments, program_numbers
from tracker.nc.head_tools import head_tools
from tracker.nc.head_words import HeadWords, head_words
from tracker.nc.scan import canonical, identity
from tracker.patterns import lazy_pattern
from tracker.records.draft import DraftJob, DraftOperation, DraftTool
from tracker.records.shop import Machine
from tracker.records.value_rules import usual_offset

_UNITS = lazy_pattern(rb"G(20|21)(?![0-9.])")


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """One program looked through: its ``head``, and an operation that lacks its id and path yet.

    ``code``: whether it holds any.
    """

    head: HeadWords
    operation: DraftOperation
    numbers: tuple[int, ...]
    calls: tuple[int, ...]
    code: bool = True


def draw(
    name: str,
    data: bytes,
    *,
    machine: Machine | None = None,
    called: Callable[[int], bytes | None] | None = None,
) -> Drawn:
    """Look one main program through.

    Args:
        name: its file name.
        data: its bytes.
        machine: the one it is meant for, if that is known: says which words are a lathe's.
        called: the text of a program by its number, None for one that is not in hand.
    """
    numbers = program_numbers(data)
    who = identity(data)
    if who.dialect == "verbatim":
        note = "another language than word-address, or no text: kept to the letter, nothing could be read from it"
        return Drawn(
            head=HeadWords(), operation=_operation(name, machine, None, (note,)), numbers=(), calls=()
        )
    lathe = None if machine is None else machine.type == "lathe"
    setting = Setting(lathe=lathe) if called is None else Setting(lathe=lathe, called=called)
    said = summarise(data, setting)
    units = _units(data)
    both = ("G20 and G21 both stand in it",) if len(units) > 1 else ()
    notes = (*_name_notes(name, numbers), *both, *_run_notes(said))
    comments = tuple(header_comments(data))
    operation = _described(_operation(name, machine, said, notes), head_tools(comments))
    return Drawn(
        head=head_words(comments),
        operation=replace(operation, units=units[0] if len(units) == 1 else None),
        numbers=tuple(dict.fromkeys(numbers)),
        calls=tuple(dict.fromkeys(number for number, _ in said.calls)),
        code=bool(who.blocks),
    )


def job_of(number: str, drawn: Sequence[Drawn], operations: Sequence[DraftOperation]) -> DraftJob:
    """The job of these programs; where two heads say different things of one key, nothing is said."""
    return DraftJob(
        number=number,
        drawing=_one(one.head.drawing for one in drawn),
        drawing_revision=_one(one.head.drawing_revision for one in drawn),
        material=_one(one.head.material for one in drawn),
        title=next((one.head.title for one in drawn if one.head.title), None),
        operations=tuple(operations),
    )


def with_list(operation: DraftOperation, listed: Mapping[int, Mapping[str, object]]) -> DraftOperation:
    """``operation`` with what a tool list says; tools that stand in the list only come along, and are said to be."""
    known = {tool.number: tool for tool in operation.tools}
    for number, values in listed.items():
        tool = known.get(number) or DraftTool(number=number, called=False)
        known[number] = replace(tool, listed=values)
    return replace(operation, tools=tuple(known[number] for number in sorted(known)))


def units_of(data: bytes) -> str | None:
    """``inch`` or ``mm`` as the program's own codes say, None for neither or both."""
    units = _units(data)
    return units[0] if len(units) == 1 else None


def _units(data: bytes) -> tuple[str, ...]:
    """The units the program's own codes say: one, none or both."""
    codes = {found[1] for found in _UNITS.finditer(canonical(data))}
    return tuple(unit for code, unit in ((b"20", "inch"), (b"21", "mm")) if code in codes)


def _operation(
    name: str, machine: Machine | None, said: Summary | None, notes: tuple[str, ...]
) -> DraftOperation:
    lathe = bool(said.lathe) if said else machine is not None and machine.type == "lathe"
    return DraftOperation(
        id="op10",
        program=name,
        drawn_from=name,
        machines=(machine.id,) if machine else (),
        lathe=lathe,
        offsets=_offsets(said.tools) if said else (),
        tools=_tools(said.tools, lathe=lathe) if said else (),
        notes=notes,
    )


def _described(operation: DraftOperation, words: Mapping[int, str]) -> DraftOperation:
    """The same with the words of the head's tool list where the program says none at the tool itself."""
    tools = (
        one if one.description else replace(one, description=_short(words.get(one.number)))
        for one in operation.tools
    )
    return replace(operation, tools=tuple(tools))


def _offsets(tools: Iterable[ToolSummary]) -> tuple[str, ...]:
    codes = (usual_offset(code) for tool in tools for code in tool.offsets)
    return tuple(dict.fromkeys(code for code in codes if code is not None))


def _tools(tools: Iterable[ToolSummary], *, lathe: bool) -> tuple[DraftTool, ...]:
    found: dict[int, DraftTool] = {}
    for tool in tools:
        number = _number(tool.tool, lathe=lathe)
        if number is None:
            continue
        before = found.get(number) or DraftTool(number=number)
        h, d = _figures(before.offset if lathe else before.h, tool.h), _figures(before.d, tool.d)
        found[number] = replace(
            before,
            description=before.description or _short(tool.description),
            h=() if lathe else h,
            d=() if lathe else d,
            offset=h if lathe else (),
        )
    return tuple(found[number] for number in sorted(found))


def _figures(before: tuple[int, ...], more: Iterable[int]) -> tuple[int, ...]:
    """Each once; 0 calls nothing off the sheet."""
    return tuple(dict.fromkeys([*before, *(figure for figure in more if figure)]))


def _number(tool: str | None, *, lathe: bool) -> int | None:
    """The tool of a T; on a lathe the last two of three digits or more are its offset (common practice, no source)."""
    if tool is None or not (tool.isascii() and tool.isdecimal()):
        return None
    number = int(tool[:-2] if lathe and len(tool) > 2 else tool)
    return number if 0 < number <= 99_999_999 else None


def _short(text: str | None) -> str | None:
    plain = " ".join((text or "").split())
    return plain or None


def _one(values: Iterable[str | None]) -> str | None:
    """What all who say anything say, or None."""
    said = {value for value in values if value is not None}
    return said.pop() if len(said) == 1 else None


def _name_notes(name: str, numbers: Sequence[int]) -> Iterable[str]:
    """The O number: none, several, the same twice, another one than the file's name says."""
    different = tuple(dict.fromkeys(numbers))
    if not different:
        yield "no O number in it"
    elif len(different) > 1:
        yield "several O numbers in it: " + ", ".join(f"O{number:04}" for number in different)
    elif len(numbers) > 1:
        yield f"O{different[0]:04} stands in it {len(numbers)} times"
    stem = name.rpartition("/")[2].partition(".")[0]
    digits = stem[1:] if stem[:1] in ("O", "o") else ""
    if digits.isascii() and digits.isdecimal() and different and int(digits) not in different:
        yield f"the file is called {name}, the program in it O{different[0]:04}"


def _run_notes(said: Summary) -> Iterable[str]:
    if any(_number(tool.tool, lathe=said.lathe) is None and tool.tool is not None for tool in said.tools):
        yield "a tool is called by something else than a number: write it here by hand"
    yield from said.guesses
    if said.not_followed:
        more = len(said.not_followed) - 1
        others = f", and {more} more" if more else ""
        yield f"not all of it was followed: {said.not_followed[0]}{others}; proveout summary says which"
