"""What ``doctor`` found, for people and as JSON."""

from typing import TYPE_CHECKING

from tracker.reports.table import folded, say, visible, wrapped

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.doctor import DoctorReport


def as_json(report: "DoctorReport") -> dict[str, object]:
    """Every point with its state, what was found, the fix, and whether it is advice only."""
    return {
        "folder": report.root,
        "points": [
            {"point": one.name, "state": one.state, "says": one.says, "fix": one.fix, "advice": one.advice}
            for one in report.points
        ],
    }


def print_text(report: "DoctorReport", console: "Console") -> None:
    """A line for each point; under one that is not on, the fix."""
    say(console, visible(report.root))
    wide = max(len(point.name) for point in report.points)
    for point in report.points:
        lead = f"{point.state:13} {point.name:{wide}}  "
        first, *more = folded(point.says, console.width - len(lead)) or [""]
        say(console, lead + first, *(" " * len(lead) + line for line in more))
        if point.state != "on" and point.fix:
            say(
                console, f"      fix: {visible(point.fix)}"
            )  # commands are copied from the screen: not folded
    off = [point.name for point in report.points if point.state == "off" and not point.advice]
    advised = [point.name for point in report.points if point.state == "off" and point.advice]
    unknown = [point.name for point in report.points if point.state == "could not tell"]
    if off:
        wrapped(console, f"To put right: {', '.join(off)}.")
    if unknown:
        wrapped(console, f"Could not be told: {', '.join(unknown)}.")
    if advised:
        need = "" if off or unknown else "Nothing has to be put right. "
        wrapped(console, f"{need}Advice: {', '.join(advised)}.")
    elif not off and not unknown:
        say(console, "Everything is set up.")
