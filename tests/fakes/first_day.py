"""Twelve programs as a one-person shop has them lying about: the manner of two posts, and some written at the control.

Made up for the purpose. What they do is plain three-axis work in inches on one small mill; every one is whole, from its
tool list in the head to the way home, as a program is that ran yesterday. ``python -m tests.fakes.first_day FOLDER``
writes them down for a person who wants to go through the first ten minutes of README.md.
"""

from collections.abc import Iterable, Iterator
from math import cos, pi, sin
from pathlib import Path

HOLES = ((0.5, 0.5), (3.5, 0.5), (3.5, 1.5), (0.5, 1.5))


def numbered(lines: Iterable[str], step: int = 10) -> Iterator[str]:
    """Blocks with N, comments and marks without."""
    n = 0
    for line in lines:
        if line[:1] in ("%", "O", "("):
            yield line
        else:
            n += step
            yield f"N{n} {line}"


def called(tool: int, following: int, rpm: int, x: float, y: float) -> list[str]:
    """A tool change with the pre-call of the next one, as the longer post writes it."""
    return [
        f"T{tool} M6",
        f"G0 G90 G54 X{number(x)} Y{number(y)} S{rpm} M3",
        f"G43 H{tool} Z1. M8",
        f"T{following}",
    ]


def home(*, last: bool) -> list[str]:
    return ["G0 Z1. M9", "M5", "G91 G28 Z0.", *(["G28 Y0."] if last else []), "G90", "M30" if last else "M1"]


def number(value: float) -> str:
    """1. and .5 and -.125, never 1.0000."""
    text = f"{value:.4f}".rstrip("0")
    return (
        text.replace("0.", ".", 1) if text.lstrip("-").startswith("0.") and text.lstrip("-") != "0." else text
    )


def drilled(cycle: str, holes: Iterable[tuple[float, float]]) -> list[str]:
    return [cycle, *(f"X{number(x)} Y{number(y)}" for x, y in list(holes)[1:]), "G80"]


def profile(feed: str, width: float, length: float, z: float) -> list[str]:
    """Round a rectangle from below, in and out on a line, climb."""
    return [
        "G0 Z.1",
        f"G1 Z{number(z)} F10.",
        f"G41 D1 X0. Y-.25 F{feed}",
        f"Y{number(width)}",
        f"X{number(length)}",
        "Y0.",
        "X-.25",
        "G40 X-.75 Y-.75",
    ]


def long_post(name: int, title: str, tools: list[str], body: Iterable[str]) -> bytes:
    """With N, CRLF, the part's data and the tool list in the head."""
    head = ["%", f"O{name} ({title})", "(POST SHOPMILL 4.2)", *(f"({tool})" for tool in tools)]
    safe = ["G20 G17 G40 G49 G80 G90"]
    return ("\r\n".join([*head, *numbered([*safe, *body])]) + "\r\n%\r\n").encode()


def short_post(name: int, title: str, body: Iterable[str]) -> bytes:
    """Without N, with LF alone, as typed or as the older post writes it."""
    return "\n".join(["%", f"O{name} ({title})", "G20 G17 G40 G49 G80 G90", *body, "%", ""]).encode()


def plate(name: int, title: str, length: float, width: float, thick: float) -> bytes:
    """Profile, spot, drill."""
    holes = [(0.5, 0.5), (length - 0.5, 0.5), (length - 0.5, width - 0.5), (0.5, width - 0.5)]
    tools = ["T1 1/2 END MILL H1 D1", "T2 3/8 SPOT DRILL H2", "T3 .257 DRILL H3"]
    body = [
        *called(1, 2, 4500, -0.75, -0.75),
        *profile("28.", width, length, -thick),
        *home(last=False),
        *called(2, 3, 3000, *holes[0]),
        *drilled("G98 G81 X.5 Y.5 Z-.14 R.1 F9.", holes),
        *home(last=False),
        *called(3, 1, 3800, *holes[0]),
        *drilled(f"G98 G83 X.5 Y.5 Z{number(-thick - 0.1)} R.1 Q.12 F11.", holes),
        *home(last=True),
    ]
    return long_post(name, title, tools, body)


def tapped(name: int, title: str, holes: list[tuple[float, float]]) -> bytes:
    """Spot, tap drill, tap 1/4-20 at 600 rpm and 30 in/min."""
    tools = ["T2 3/8 SPOT DRILL H2", "T4 NO. 7 DRILL H4", "T5 1/4-20 TAP H5"]
    at = f"X{number(holes[0][0])} Y{number(holes[0][1])}"
    body = [
        *called(2, 4, 3000, *holes[0]),
        *drilled(f"G98 G81 {at} Z-.14 R.1 F9.", holes),
        *home(last=False),
        *called(4, 5, 3200, *holes[0]),
        *drilled(f"G98 G83 {at} Z-.85 R.1 Q.1 F10.", holes),
        *home(last=False),
        *called(5, 2, 600, *holes[0]),
        *drilled(f"G98 G84 {at} Z-.6 R.2 F30.", holes),
        *home(last=True),
    ]
    return long_post(name, title, tools, body)


def pocket(name: int, title: str, depth: float) -> bytes:
    """Down in steps by a called program that clears one level."""
    body = ["(T6 3/8 END MILL)", "T6 M6", "G0 G90 G54 X2. Y1. S5000 M3", "G43 H6 Z1. M8", "G0 Z.1"]
    steps = round(depth / 0.125)
    for step in range(1, steps + 1):
        body += [f"G1 Z{number(-0.125 * step)} F6.", "M98 P9100"]
    body += ["G0 Z1. M9", "M5", "G91 G28 Z0.", "G28 Y0.", "G90", "M30"]
    return short_post(name, title, body)


def one_level() -> bytes:
    """The program the pockets call."""
    return b"%\nO9100 (POCKET 3.0 X 1.0 ONE LEVEL)\nG91\nG1 X.9 F22.\nY.3\nX-1.8\nY-.6\nX1.8\nY.3\nX-.9\nG90\nM99\n%\n"


def ring(name: int, title: str, radius: float) -> bytes:
    """A bore by full circles, in and out on an arc."""
    r = number(radius)
    body = ["(T6 3/8 END MILL)", "T6 M6", "G0 G90 G54 X0. Y0. S4800 M3", "G43 H6 Z1. M8", "G0 Z.1"]
    for z in ("-.2", "-.4"):
        body += [f"G1 Z{z} F8.", f"G41 D6 X{r} F18.", f"G3 I-{r} J0.", "G1 G40 X0. Y0."]
    body += ["G0 Z1. M9", "M5", "G91 G28 Z0.", "G28 Y0.", "G90", "M30"]
    return short_post(name, title, body)


def surface(name: int, title: str, rows: int = 24) -> bytes:
    """A shallow wave in rows, as a surfacing post writes it: points, modal words left out."""
    body = [
        "(T7 1/4 BALL MILL)",
        "T7 M6",
        "G0 G90 G54 X0. Y0. S7500 M3",
        "G43 H7 Z1. M8",
        "Z.1",
        "G1 Z-.05 F15.",
    ]
    for row in range(rows):
        xs = range(41) if row % 2 == 0 else range(40, -1, -1)
        body.append(f"Y{number(row * 0.05)}")
        for at in xs:
            z = -0.05 - 0.02 * sin(at * pi / 20) * cos(row * pi / rows)
            body.append(f"X{number(at * 0.05)} Z{number(z)}" + (" F60." if (row, at) == (0, 0) else ""))
    body += ["G0 Z1. M9", "M5", "G91 G28 Z0.", "G28 Y0.", "G90", "M30"]
    return short_post(name, title, body)


def engraved(name: int, title: str) -> bytes:
    strokes = ["X.1 Y.3", "X.2 Y0.", "X.3 Y.3", "X.4 Y0."]
    body = [
        "(T8 60 DEG ENGRAVER)",
        "T8 M6",
        "G0 G90 G54 X0. Y0. S8000 M3",
        "G43 H8 Z1. M8",
        "Z.1",
        "G1 Z-.008 F5.",
        *(f"{stroke} F12." if at == 0 else stroke for at, stroke in enumerate(strokes)),
        "G0 Z1. M9",
        "M5",
        "G91 G28 Z0.",
        "G28 Y0.",
        "G90",
        "M30",
    ]
    return short_post(name, title, body)


def programs() -> dict[str, bytes]:
    """File name -> bytes: eleven main programs and the one that pockets call."""
    row = [(0.5 + 0.75 * at, 0.5) for at in range(5)]
    return {
        "base/O1101.NC": plate(1101, "BASE PLATE", 4.0, 2.0, 0.5),
        "base/O1102.NC": tapped(1102, "BASE PLATE TAPPED", [*HOLES]),
        "cover/O1201.NC": plate(1201, "COVER", 3.0, 1.5, 0.25),
        "cover/O1202.NC": engraved(1202, "COVER MARK"),
        "rail/O1301.NC": plate(1301, "RAIL", 6.0, 1.0, 0.375),
        "rail/O1302.NC": tapped(1302, "RAIL TAPPED", row),
        "housing/O1401.NC": pocket(1401, "HOUSING POCKET", 0.5),
        "housing/O1402.NC": pocket(1402, "HOUSING STEP", 0.25),
        "housing/O9100.NC": one_level(),
        "flange/O1501.NC": ring(1501, "FLANGE BORE", 0.75),
        "flange/O1502.NC": tapped(1502, "FLANGE HOLES", [*HOLES]),
        "cam/O1601.NC": surface(1601, "CAM FACE"),
    }


def lay_down(folder: Path) -> None:
    """Write them as files, as they lie on the office PC."""
    for name, data in programs().items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)


if __name__ == "__main__":
    import sys

    lay_down(Path(sys.argv[1]))
