"""The control's memory while a program is run through: what is in force, as figures.

None always means: never set by the program, so not known.
"""

from dataclasses import dataclass, field


@dataclass(slots=True)
class Control:
    """What is in force.

    Attributes:
        lathe: words have lathe meanings.
        base: units all lengths are kept in, ``inch`` or ``mm``; None: as written.
        units: units in force, ``inch`` or ``mm``.
        motion: code in force: ``"0"``, ``"1"``, ``"2"``, ``"3"``, a cycle's, ``"80"`` or None.
        plane: 17, 18 or 19. At the start 17 (mill) or 18 (lathe).
        absolute: G90 True, G91 False; None: neither was met.
        arc_absolute: G90.1.
        feed_mode: ``"per-minute"``, ``"per-revolution"``, ``"inverse"``; None: not stated.
        surface: G96 is in force (``speed`` is then length per minute: feet or metres).
        limit: highest speed stated by G50 S (lathe) or G92 S.
        feed: F in force, in base units; None: none yet.
        speed: S in force.
        spindle: ``"3"``, ``"4"``, ``"5"`` or None.
        coolant: M codes in force, of ``"7"``, ``"8"``, ``"88"`` …; emptied by M9.
        radius: ``"40"``, ``"41"``, ``"42"`` or None; ``d`` the D in force.
        length: ``"43"``, ``"44"``, ``"49"``, ``"43.1"`` or None; ``h`` the H in force.
        offset: work offset in force: ``"G54"``, ``"G54.1 P3"``, or None.
        retract: ``"98"`` or ``"99"`` (mill).
        exact: ``"61"``, ``"64"`` … or None.
        tool: number in the spindle or turret; None: none yet.
        tool_offset: the lathe's offset number of T0101; None: none.
        staged: T called for and not yet changed to.
        position: X Y Z A B C in the work offset in force, base units and degrees.
        local: G52, ``moved`` G92 shift of X Y Z, base units.
        doubts: what is in force that figures do not take into account (``"G68"``, ``"G51"``, ``"G16"``, ``"G5.1"``).
        variables: values of variables by number; a variable that is not in it was never set.
        program: O number of the program being run.
    """

    lathe: bool = False
    base: str | None = None
    units: str | None = None
    motion: str | None = None
    plane: int = 17
    absolute: bool | None = None
    arc_absolute: bool = False
    feed_mode: str | None = None
    surface: bool = False
    limit: float | None = None
    feed: float | None = None
    speed: float | None = None
    spindle: str | None = None
    coolant: set[str] = field(default_factory=set)
    radius: str | None = None
    d: int | None = None
    length: str | None = None
    h: int | None = None
    offset: str | None = None
    retract: str | None = None
    exact: str | None = None
    tool: int | None = None
    tool_offset: int | None = None
    staged: int | None = None
    position: list[float | None] = field(default_factory=lambda: [None] * 6)
    local: list[float] = field(default_factory=lambda: [0.0] * 3)
    moved: list[float] = field(default_factory=lambda: [0.0] * 3)
    doubts: set[str] = field(default_factory=set)
    variables: dict[float, float | None] = field(default_factory=dict)
    program: int | None = None
