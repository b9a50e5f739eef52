"""The one machine all programs run on: its offsets, tools and home are known to both who run them."""

from tracker.machining.setting import Setting

OFFSETS = {
    "G54": (0.0, 0.0, 0.0),
    "G55": (2.0, 1.0, -0.5),
    "G56": (-1.0, 0.5, 0.0),
    "G57": (10.0, 0.0, 0.0),
    "G58": (0.0, 0.0, 1.0),
    "G59": (4.0, 4.0, 4.0),
    "G59.1": (1.0, 1.0, 1.0),
    "G59.2": (0.5, 0.25, 0.125),
    "G59.3": (-2.0, -2.0, -2.0),
}
"""Work offsets in inches."""
LENGTHS = {1: 1.0, 2: 0.5, 3: 2.25, 4: -0.375}
"""Tool lengths in inches."""
HOME = (1.0, 2.0, 10.0)
SECOND_HOME = (3.0, 4.0, 8.0)


def tool_table() -> str:
    return "".join(f"T{tool} P{tool} Z{length} D0.5\n" for tool, length in LENGTHS.items())


def variables() -> str:
    """The interpreter's file of variables, ascending as it asks for."""
    told = dict(zip(range(5161, 5164), HOME, strict=True))
    told |= dict(zip(range(5181, 5184), SECOND_HOME, strict=True))
    told[5220] = 1
    for at, offset in enumerate(OFFSETS.values()):
        told |= dict(zip(range(5221 + 20 * at, 5224 + 20 * at), offset, strict=True))
    return "".join(f"{number}\t{value:.6f}\n" for number, value in sorted(told.items()))


def setting(units: str, *, skip: bool = False) -> Setting:
    """The same machine for a run of ours, in the program's units."""
    scale = 25.4 if units == "mm" else 1.0

    def in_units(triple: tuple[float, float, float]) -> tuple[float, float, float]:
        return (triple[0] * scale, triple[1] * scale, triple[2] * scale)

    return Setting(
        lathe=False,
        units=units,
        decimal="calculator",
        start=(0.0, 0.0, 0.0),
        offsets={code: in_units(offset) for code, offset in OFFSETS.items()},
        lengths={0: 0.0} | {tool: length * scale for tool, length in LENGTHS.items()},
        home=in_units(HOME),
        skip=skip,
    )
