"""What the tools of a comparison are called: by the setup sheet, else by the program's own comments."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from tracker.services.comparing_files import ShownChange, ToolName

if TYPE_CHECKING:
    from tracker.records.job import Operation


def names_by_sheet(
    changes: Iterable[ShownChange], operations: Iterable["Operation | None"], *, lathe: bool
) -> tuple[ToolName, ...]:
    """The description of every tool the changes name.

    Args:
        changes: of one operation.
        operations: whose sheets are asked, the newer one first.
        lathe: the T of a change holds tool and offset (``0101`` is tool 1).
    """
    known: dict[int, str] = {}
    for operation in operations:
        for tool in operation.tools if operation else ():
            if tool.description:
                known.setdefault(tool.number, tool.description)
    seen = {(change.file, change.tool): None for change in changes if change.tool}
    return tuple(
        ToolName(file=file, tool=tool, name=known[number])
        for file, tool in seen
        if tool and (number := _number(tool, lathe=lathe)) in known
    )


def _number(tool: str, *, lathe: bool) -> int | None:
    """4 of ``4``; on a lathe 1 of ``0101`` and of ``101``: the last two digits are the offset."""
    own = tool[:-2] if lathe and len(tool) > 2 else tool
    return int(own) if own.isdecimal() else None
