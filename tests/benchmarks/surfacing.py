"""Makes large 3-D surfacing programs for the benchmarks, the same bytes every time.

The surface is a product of two waves over a rectangle, milled in rows to and fro, with a tool change every so many
rows. Nothing is random: a size and two switches name one file.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, sin
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

POINTS_IN_ROW = 400
ROWS_PER_TOOL = 60
STEP = 0.2515
TOOLS = 12


def number(value: float) -> str:
    """A coordinate as a post-processor writes it: four places at most, no trailing zeros, a point always."""
    text = f"{value:.4f}".rstrip("0")
    return "0." if text in ("0.", "-0.") else text


def head(tool: int) -> list[str]:
    """A tool change with its comments."""
    return [
        f"(TOOL {tool} BALL NOSE D{tool}.0)",
        f"T{tool} M6",
        "G0 G90 G54 X0. Y0.",
        f"S{4000 + 250 * tool} M3",
        f"G43 H{tool} Z25. M8",
    ]


def row(index: int) -> list[str]:
    """One pass over the surface, in X, every other one backwards."""
    y = index % 1000 * STEP
    wave = cos(y * 0.11 + index * 0.003)
    lines = [f"(ROW {index})", f"G1 Z{number(2.0 * wave)} F{600 + index % 7 * 50}."]
    columns = range(POINTS_IN_ROW) if index % 2 == 0 else range(POINTS_IN_ROW - 1, -1, -1)
    for column in columns:
        x = column * STEP
        z = 2.0 * wave * sin(x * 0.07 + 0.5) - 1.25
        lines.append(f"X{number(x)} Y{number(y)} Z{number(z)}")
    lines.append(f"G0 Z{number(5.0 + index % 3)}")
    return lines


def blocks() -> Iterator[str]:
    """Blocks and comments without end."""
    index = 0
    while True:
        if index % ROWS_PER_TOOL == 0:
            yield from head(index // ROWS_PER_TOOL % TOOLS + 1)
        yield from row(index)
        index += 1


def write(path: Path, size: int, *, step: int = 1, edited: bool = False) -> int:
    """Write one program of about ``size`` bytes and return its number of lines.

    Args:
        path: the file.
        size: bytes after which it ends; both programs of a pair end at the same block, since only the words after
            the line number are counted.
        step: distance of the line numbers, so that a second file is the first one renumbered.
        edited: change one coordinate in the middle.
    """
    number_of = 0
    counted = 0
    lines = 3
    todo = edited
    with path.open("w", encoding="ascii", newline="\n") as file:
        file.write("%\nO4711 (SURFACE)\nG21 G17 G40\n")
        for text in blocks():
            if counted >= size:
                break
            counted += len(text) + 9
            lines += 1
            if text.startswith("("):
                file.write(text + "\n")
                continue
            if todo and counted > size // 2 and text.startswith("X"):
                text, todo = text + "5", False
            number_of += step
            file.write(f"N{number_of} {text}\n")
        file.write("M30\n%\n")
    return lines + 2
