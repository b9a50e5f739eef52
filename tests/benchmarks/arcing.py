"""Makes large programs of arcs for the benchmarks, the same bytes every time.

Rounded pockets, one in another and layer under layer: a straight side, a quarter of a circle, and so on; every corner
of each fifth pocket is a helix.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count
from typing import TYPE_CHECKING

from tests.benchmarks.surfacing import head, number

if TYPE_CHECKING:
    from pathlib import Path

POCKETS = 40
LAYERS_PER_TOOL = 50
STEP = 0.35
SIDES = ((1, 0, 0, 1), (0, 1, -1, 0), (-1, 0, 0, -1), (0, -1, 1, 0))
"""Direction of a side, and where its corner turns to."""


def pocket(index: int, depth: float) -> list[str]:
    """One time round, counterclockwise, from the middle of its lower side."""
    half, radius = 5.0 + index * STEP, 1.5 + index * 0.1
    flat = 2 * (half - radius)
    x, y, z = -half + radius, -half, depth
    lines = [f"G0 X{number(x)} Y{number(y)}", f"G1 Z{number(z)} F{200 + index % 5 * 20}."]
    for dx, dy, ex, ey in SIDES:
        x, y = x + dx * flat, y + dy * flat
        lines.append(f"G1 X{number(x)} Y{number(y)} F{500 + index % 3 * 100}.")
        centre = f"I{number(ex * radius)} J{number(ey * radius)}"
        x, y = x + (dx + ex) * radius, y + (dy + ey) * radius
        deeper = ""
        if index % 5 == 0:
            z -= 0.0125
            deeper = f" Z{number(z)}"
        lines.append(f"G3 X{number(x)} Y{number(y)}{deeper} {centre}")
    return [*lines, f"G0 Z{number(depth + 1)}"]


def blocks() -> Iterator[str]:
    """Blocks and comments without end."""
    for layer in count():
        if layer % LAYERS_PER_TOOL == 0:
            yield from head(layer // LAYERS_PER_TOOL % 12 + 1)
        yield f"(LAYER {layer})"
        for index in range(POCKETS):
            yield from pocket(index, -0.2 - layer % LAYERS_PER_TOOL * 0.1)


def write(path: Path, size: int) -> int:
    """Write a program of about ``size`` bytes and return its number of lines."""
    written, lines = 0, 5
    with path.open("w", encoding="ascii", newline="\n") as file:
        file.write("%\nO4712 (POCKETS)\nG21 G17 G40\n")
        for at, text in enumerate(blocks(), start=1):
            if written >= size:
                break
            line = text + "\n" if text.startswith("(") else f"N{at} {text}\n"
            file.write(line)
            written += len(line)
            lines += 1
        file.write("M30\n%\n")
    return lines
