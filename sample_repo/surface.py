"""O1201 of the sample shop: a wavy surface in a 3.0 x 2.0 in block, roughed and finished with ball mills.

z = level + 0.05 cos(pi x/1.5) cos(pi y), tip positions, inch. ``python surface.py -0.11`` prints revision 1,
``python surface.py -0.10`` revision 2. A text for trying the tool, not for any machine.
"""

import sys
from collections.abc import Iterator
from itertools import pairwise
from math import cos, pi, sin, sqrt

Point = tuple[float, float, float]
Pass = tuple[float, float, float]  # distance between rows, stock left, lowest Z


def number(value: float) -> str:
    """Four places, trailing zeros cut, point kept."""
    text = f"{round(value, 4) + 0.0:.4f}".rstrip("0")
    return "0." if text in ("-0.", "0.") else text


def tip(x: float, y: float, radius: float, leave: float, level: float) -> Point:
    """Where the tip of a ball of this radius stands to touch the surface at x, y."""
    height = level + 0.05 * cos(pi * x / 1.5) * cos(pi * y)
    slope_x = -0.05 * pi / 1.5 * sin(pi * x / 1.5) * cos(pi * y)
    slope_y = -0.05 * pi * cos(pi * x / 1.5) * sin(pi * y)
    k = (radius + leave) / sqrt(1 + slope_x**2 + slope_y**2)
    return x - slope_x * k, y - slope_y * k, height + k - radius


def rows(radius: float, one: Pass, level: float) -> Iterator[Point]:
    """Rows along X, there and back."""
    step, leave, floor = one
    count = round(2.0 / step)
    for i in range(count + 1):
        xs = [-1.8 + 0.1 * j for j in range(37)]
        for x in xs if i % 2 == 0 else xs[::-1]:
            px, py, pz = tip(x, -1.0 + 2.0 * i / count, radius, leave, level)
            yield px, py, max(pz, floor)


def start(tool: int, at: Point, speed: int) -> list[str]:
    """The blocks every tool opens with."""
    x, y, _ = at
    return [f"G0 G17 G40 G80 G90 G54 X{number(x)} Y{number(y)} S{speed} M3", f"G43 H{tool} Z1. M8"]


def follow(points: list[Point], feed: int) -> list[str]:
    """Feed moves from point to point, unchanged words left out."""
    out = [f"G1 Z{number(points[0][2])} F10."]
    word = f" F{feed}."
    for old, new in pairwise(points):
        words = "".join(
            f" {a}{number(v)}" for a, v, w in zip("XYZ", new, old, strict=True) if number(v) != number(w)
        )
        if words:
            out.append(words.strip() + word)
            word = ""
    return out


def section(tool: int, name: str, speed: int, radius: float, passes: list[Pass], level: float) -> list[str]:
    """One tool: its passes over the surface and the way home."""
    out = [f"({name})", f"T{tool} M6"]
    for i, one in enumerate(passes):
        points = list(rows(radius, one, level))
        x, y, _ = points[0]
        out += start(tool, points[0], speed) if i == 0 else ["G0 Z1.", f"X{number(x)} Y{number(y)}"]
        out += ["Z0.15", *follow(points, 40)]
    return [*out, "G0 Z1. M9", "M5", "G91 G28 Z0."]


def face() -> list[str]:
    """The first tool faces the block in six rows."""
    out = ["(1/2 4FL END MILL)", "T1 M6", *start(1, (-1.9, -0.9, 1.0), 5000), "Z0.15", "G1 Z0. F20."]
    x = -1.9
    for i, y in enumerate([-0.9, -0.5, -0.1, 0.3, 0.7, 0.95]):
        if i:
            out.append(f"Y{number(y)}")
        x = -x
        out.append(f"X{number(x)}" + (" F40." if i == 0 else ""))
    return [*out, "G0 Z1. M9", "M5", "G91 G28 Z0.", "G90"]


def program(level: float) -> str:
    """The whole text of O1201."""
    out = ["G20", "G0 G17 G40 G49 G80 G90", *face()]
    out += section(2, "3/8 BALL END MILL", 6000, 0.1875, [(0.125, 0.02, -0.08), (0.125, 0.02, -9.0)], level)
    out += [
        "G90",
        *section(3, "1/4 BALL END MILL", 7000, 0.125, [(0.04, 0.0, -9.0)], level),
        "G28 Y0.",
        "G90",
        "M30",
    ]
    head = ["%", "O1201 (4502 OP10 GRIP INSERT)", "(DRAWING 4502 REV B)", "(POST PLUMB-MILL 1.2)"]
    head.append("(INCH. ZERO: CENTRE OF BLOCK, FINISHED TOP FACE)")
    count = 0
    body = []
    for line in out:
        if not line.startswith("("):
            count += 1
        body.append(line if line.startswith("(") else f"N{count} {line}")
    return "\n".join([*head, *body, "%"]) + "\n"


if __name__ == "__main__":
    sys.stdout.write(program(float(sys.argv[1]) if len(sys.argv) > 1 else -0.10))
