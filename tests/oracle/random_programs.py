"""Programs made up at random, of words both interpreters read alike, and valid: the interpreter refuses none of them."""

from random import Random

_OFFSETS = ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3")
_AXES = {17: "XYZ", 18: "ZXY", 19: "YZX"}
"""First, second and third axis of a plane."""
_CENTRES = {17: "IJ", 18: "KI", 19: "JK"}


class _Writer:
    """Writes a program phrase by phrase; every phrase is valid whatever stands before it."""

    def __init__(self, seed: int) -> None:
        self.random = Random(seed)
        self.lines: list[str] = []
        self.inch = self.random.random() < 0.5
        self.absolute = True
        self.plane = 17
        self.calls = 0

    def program(self) -> str:
        roll = self.random
        self.lines.append(f"G{20 if self.inch else 21} G90 G17 G94 G40 G49 G80 G54")
        self.lines.append("S1000 M3 " + self.feed())
        self.stand()
        phrases = (
            [self.straight] * 5
            + [self.arc_by_centre, self.arc_by_radius, self.helix, self.drill] * 2
            + [
                self.distance,
                self.switch_plane,
                self.switch_units,
                self.offset,
                self.shift,
                self.write_offset,
            ]
            + [
                self.dwell,
                self.machine,
                self.home,
                self.variable,
                self.loop,
                self.sub,
                self.inverse,
                self.length,
            ]
        )
        for _ in range(roll.randint(6, 22)):
            roll.choice(phrases)()
        self.lines.append(roll.choice(("M2", "M30", "M5 M9 M2")))
        return "\n".join(self.dressed(line) for line in self.lines) + "\n"

    def dressed(self, line: str) -> str:
        """The line with a number, a comment, in lower case, with blanks or tabs: none of it means anything."""
        roll = self.random.random()
        if line[0] in "O#(" or roll < 0.6:
            return line
        if roll < 0.7:
            return f"N{self.random.randint(1, 9999)} {line}"
        if roll < 0.8:
            return line.lower()
        if roll < 0.87:
            return line.replace(" ", "")
        if roll < 0.94:
            return line.replace(" ", " (X9 Y9) ", 1)
        return f"\t{line}  ; and nothing else"

    def figure(self, low: float, high: float) -> str:
        """A length from inches, written in the units in force."""
        value = self.random.uniform(low, high)
        value = round(value, 3) if self.inch else round(value * 25.4, 2)
        text = f"{value:.4f}".rstrip("0") if self.random.random() < 0.8 else f"{value:.4f}"
        return text[1:] if len(text) > 2 and text.startswith("0.") and self.random.random() < 0.5 else text

    def feed(self) -> str:
        return f"F{self.random.randint(2, 40) * (1 if self.inch else 25)}."

    def stand(self) -> None:
        """Go to where all three axes are known, clear of everything."""
        self.go_absolute()
        self.lines.append(f"G0 X{self.figure(-3, 3)} Y{self.figure(-3, 3)} Z{self.figure(1, 3)}")

    def go_absolute(self) -> None:
        self.lines.append("G90")
        self.absolute = True

    def axes(self) -> str:
        chosen = [axis for axis in "XYZ" if self.random.random() < 0.55] or ["X"]
        self.random.shuffle(chosen)
        return " ".join(axis + self.figure(-3, 3) for axis in chosen)

    def straight(self) -> None:
        feed = f" {self.feed()}" if self.random.random() < 0.3 else ""
        self.lines.append(self.random.choice(("G0", "G1", "G01", "G00")) + f" {self.axes()}{feed}")
        for _ in range(self.random.randint(0, 3)):
            self.lines.append(self.axes())

    def place(self) -> tuple[float, ...]:
        """A move to a known place, told in the units in force."""
        self.go_absolute()
        texts = [self.figure(-2, 2) for _ in range(3)]
        self.lines.append("G1 X{} Y{} Z{} F50.".format(*texts))
        return tuple(float(text) for text in texts)

    def end_and_centre(self, here: tuple[float, ...]) -> tuple[list[float], list[float]]:
        """Where a quarter, half or full arc leads, and its centre from the start, on the axes of the plane."""
        i, j = (float(self.figure(0.1, 1.5)) * self.random.choice((1, -1)) for _ in range(2))
        a, b = self.random.choice(((0.0, 0.0), (2 * i, 2 * j), (i - j, i + j), (i + j, j - i)))
        first, second = ("XYZ".index(axis) for axis in _AXES[self.plane][:2])
        return [here[first] + a, here[second] + b], [i, j]

    def arc_by_centre(self, more: str = "") -> None:
        here = self.place()
        ends, centre = self.end_and_centre(here)
        if self.random.random() < 0.3:
            self.lines.append("G91")
            first, second = ("XYZ".index(axis) for axis in _AXES[self.plane][:2])
            ends = [ends[0] - here[first], ends[1] - here[second]]
            self.absolute = False
        words = [f"{axis}{value:.4f}" for axis, value in zip(_AXES[self.plane], ends, strict=False)]
        words += [f"{letter}{value:.4f}" for letter, value in zip(_CENTRES[self.plane], centre, strict=True)]
        self.random.shuffle(words)
        self.lines.append(f"{self.random.choice(('G2', 'G3', 'G02', 'G03'))} {' '.join(words)}{more}")
        if not self.absolute:
            self.go_absolute()

    def helix(self) -> None:
        turns = f" P{self.random.randint(1, 3)}" if self.random.random() < 0.5 else ""
        self.arc_by_centre(f" {_AXES[self.plane][2]}{self.figure(-1, 1)}{turns}")

    def arc_by_radius(self) -> None:
        here = self.place()
        first, second = ("XYZ".index(axis) for axis in _AXES[self.plane][:2])
        a, b = (float(self.figure(0.2, 1)) * self.random.choice((1, -1)) for _ in range(2))
        least = (a * a + b * b) ** 0.5 / 2
        radius = least * self.random.uniform(1.05, 3) * self.random.choice((1, 1, -1))
        one, other = _AXES[self.plane][:2]
        self.lines.append(
            f"{self.random.choice(('G2', 'G3'))} {one}{here[first] + a:.4f} {other}{here[second] + b:.4f} R{radius:.4f}"
        )

    def drill(self) -> None:
        """A row of holes; every cycle word opens with all of its words."""
        self.stand()
        one, other, third = _AXES[self.plane]
        self.lines.append(f"G0 {third}{self.figure(1, 2)}")
        code, more = self.random.choice(
            (
                ("G81", ""),
                ("G82", " P.5"),
                ("G83", f" Q{self.figure(0.1, 0.4)}"),
                ("G73", f" Q{self.figure(0.1, 0.4)}"),
                ("G85", ""),
                ("G86", " P1.5"),
                ("G98 G81", ""),
            )
        )
        back = "" if "G98" in code else self.random.choice(("G98 ", "G99 "))
        levels = f"{third}-{self.figure(0.1, 0.9)} R{self.figure(0.05, 0.5)}"
        self.lines.append(
            f"{back}{code} {one}{self.figure(-3, 3)} {other}{self.figure(-3, 3)} {levels}{more} {self.feed()}"
        )
        for _ in range(self.random.randint(0, 3)):
            words = [axis + self.figure(-3, 3) for axis in (one, other) if self.random.random() < 0.7]
            repeats = " L2" if words and self.random.random() < 0.15 else ""
            if words:
                self.lines.append(" ".join(words) + repeats)
        self.lines.append("G80")
        self.stand()

    def drill_by_steps(self) -> None:
        """A row under G91: R and depth count from the initial level all along."""
        self.stand()
        one, other, third = _AXES[self.plane]
        code, more = self.random.choice((("G81", ""), ("G83", f" Q{self.figure(0.1, 0.3)}"), ("G82", " P.2")))
        levels = f"{third}-{self.figure(0.2, 0.9)} R-{self.figure(0.1, 0.8)}"
        steps = f"{one}{self.figure(-1, 1)} {other}{self.figure(-1, 1)}"
        self.lines.append(
            f"G91 {self.random.choice(('G98', 'G99'))} {code} {steps} {levels}{more} {self.feed()}"
        )
        for _ in range(self.random.randint(0, 2)):
            repeats = self.random.choice(("", " L2", " L3"))
            self.lines.append(f"{self.random.choice((one, other))}{self.figure(0.2, 1)}{repeats}")
        self.lines.append("G80")
        self.stand()

    def absolute_centre(self) -> None:
        here = self.place()
        ends, centre = self.end_and_centre(here)
        first, second = ("XYZ".index(axis) for axis in _AXES[self.plane][:2])
        at = [here[first] + centre[0], here[second] + centre[1]]
        words = [f"{axis}{value:.4f}" for axis, value in zip(_AXES[self.plane], ends, strict=False)]
        words += [f"{letter}{value:.4f}" for letter, value in zip(_CENTRES[self.plane], at, strict=True)]
        self.lines += ["G90.1", f"{self.random.choice(('G2', 'G3'))} {' '.join(words)}", "G91.1"]

    def tool(self) -> None:
        """Where a change leaves the axes is known again after all three are named."""
        self.lines.append(f"T{self.random.randint(1, 4)} M6")
        self.stand()

    def turn(self) -> None:
        """Turning axes, by rapids: how F counts for them differs."""
        self.lines.append(f"G0 A{self.random.randint(-360, 360)} B{self.random.randint(-90, 90)}.5 C0")
        self.lines.append(f"X{self.figure(-1, 1)} A{self.random.randint(-360, 360)}")

    def stop(self) -> None:
        self.lines.append(
            self.random.choice(("M0", "M1", f"X{self.figure(-1, 1)} M0", "M5", "M3 S500", "M4 S2000"))
        )

    def per_revolution(self) -> None:
        self.lines.append(f"M3 S{self.random.randint(1, 30) * 100}")
        self.lines.append(f"G95 G1 {self.axes()} F{self.random.randint(1, 20) / (1000 if self.inch else 50)}")
        self.lines.append(self.axes())
        self.lines.append(f"G94 {self.feed()}")

    def distance(self) -> None:
        self.lines.append("G91")
        for _ in range(self.random.randint(1, 3)):
            self.straight()
        self.go_absolute()

    def switch_plane(self) -> None:
        self.plane = self.random.choice((17, 18, 19))
        self.lines.append(f"G{self.plane}")

    def switch_units(self) -> None:
        """Without a length offset: the interpreter keeps its figure when units change (``home_after_units``)."""
        self.lines.append("G49")
        self.stand()
        self.inch = not self.inch
        self.lines.append(f"G{20 if self.inch else 21}")
        self.lines.append(f"{self.feed()}")

    def offset(self) -> None:
        self.lines.append(self.random.choice(_OFFSETS))
        self.straight()

    def shift(self) -> None:
        """G92 or G52 for a while."""
        words = " ".join(f"{axis}{self.figure(-1, 1)}" for axis in "XYZ")
        if self.random.random() < 0.5:
            self.lines.append(f"G92 {words}")
            self.straight()
            self.lines.append("G92.1")
        else:
            self.lines.append(f"G52 {words}")
            self.straight()
            self.lines.append("G52 X0 Y0 Z0")
        self.stand()

    def write_offset(self) -> None:
        number = self.random.randint(1, 9)
        words = (
            " ".join(f"{axis}{self.figure(-2, 2)}" for axis in "XYZ" if self.random.random() < 0.7) or "X0"
        )
        self.lines.append(f"G10 L2 P{number} {words}")
        self.straight()

    def dwell(self) -> None:
        self.lines.append(f"G4 P{self.random.randint(1, 40) / 10}")

    def machine(self) -> None:
        self.lines.append(f"G53 G0 {self.axes()}")
        self.straight()

    def home(self) -> None:
        self.lines.append(f"G28 {self.axes()}" if self.random.random() < 0.8 else "G28")
        self.stand()

    def length(self) -> None:
        self.lines.append(self.random.choice(("G49", "G43 H1", "G43 H2", "G43 H3", "G43 H4")))
        self.stand()

    def variable(self) -> None:
        number = self.random.randint(100, 120)
        self.lines.append(f"#{number}={self.figure(-2, 2)}")
        self.lines.append(f"#{number + 30}=[#{number}*2+{self.figure(0.1, 1)}]")
        self.lines.append(f"G1 X#{number} Y[#{number + 30}/4-SIN[{self.random.randint(0, 360)}]]")
        self.lines.append(f"Z[ABS[#{number}]+SQRT[{self.random.randint(1, 30)}]/10] X-#{number}")

    def loop(self) -> None:
        self.calls += 1
        label, count = 100 + self.calls, self.random.randint(0, 4)
        inner = f"G91 G1 X{self.figure(-0.5, 0.5)} Y{self.figure(-0.5, 0.5)}"
        if self.random.random() < 0.5:
            self.lines += [f"O{label} repeat [{count}]", inner, f"O{label} endrepeat"]
        else:
            self.lines += ["#150=0", f"O{label} while [#150 LT {count}]", inner, "#150=[#150+1]"]
            self.lines += [
                f"O{label + 1000} if [#150 EQ 2]",
                f"Z{self.figure(-0.2, 0.2)}",
                f"O{label + 1000} else",
            ]
            self.lines += ["G0 Z.01", f"O{label + 1000} endif", f"O{label} endwhile"]
        self.go_absolute()

    def sub(self) -> None:
        self.calls += 1
        label = 2000 + self.calls
        self.lines += [f"O{label} sub", "G1 X#1 Y[#1+#2]", "G0 Z[#2*.5+1]", f"O{label} endsub"]
        for _ in range(self.random.randint(1, 3)):
            self.lines.append(f"O{label} call [{self.figure(-2, 2)}] [{self.figure(-1, 1)}]")

    def inverse(self) -> None:
        self.lines.append("G93")
        for _ in range(self.random.randint(1, 3)):
            self.lines.append(f"G1 {self.axes()} F{self.random.randint(1, 90) / 10}")
        self.lines.append(f"G94 {self.feed()}")


def random_program(seed: int) -> str:
    """The program of a seed; the same one every time."""
    return _Writer(seed).program()
