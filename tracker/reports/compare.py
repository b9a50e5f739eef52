"""A comparison for people, grouped by file and tool, and as JSON."""

from typing import TYPE_CHECKING

from tracker.nc.kinds import TEXT_ONLY, in_order
from tracker.reports.cautions import NO_DIFFERENCE
from tracker.reports.table import say, wrapped

if TYPE_CHECKING:
    from tracker.nc.compare_change import Side
    from tracker.reports.screen import Screen
    from tracker.services.comparing_files import CompareReport, ShownChange

MOST_SHOWN = 400


def as_json(report: "CompareReport") -> dict[str, object]:
    """``same_code``, ``kinds``, ``changes``, ``effect``; ``words`` and ``notes`` only where there are some."""
    data: dict[str, object] = {
        "same_code": report.same_code,
        "kinds": list(report.kinds),
        "changes": [_change(change) for change in report.changes],
        "effect": _effects_json(report),
    }
    if report.notes:
        data["notes"] = list(report.notes)
    return data


def print_text(
    report: "CompareReport", console: "Screen", *, everything: bool = False, unified: bool = False
) -> None:
    """What differs, tool by tool; what leaves the code alone in one line; at most `MOST_SHOWN` changes.

    Was and is stand side by side where the screen is wide enough, unless ``unified`` asks for one below the other.
    """
    code = [change for change in report.changes if change.kind not in TEXT_ONLY]
    shown = code if everything else code[:MOST_SHOWN]
    if shown:
        from tracker.reports.compare_lines import change_lines  # what is the same code has nothing to lay out

        say(console, *change_lines(report, shown, console.width, unified=unified))
    if len(shown) < len(code):
        from tracker.policy.spelled import counted  # loads the records: only a long comparison pays for it

        say(console, f"... and {counted(len(code) - len(shown), 'more change')}; --all shows them")
    _print_effects(report, console)
    quiet = in_order({change.kind for change in report.changes} & TEXT_ONLY)
    if quiet:
        say(console, f"Changed besides, and no code: {', '.join(quiet)}.")
    for note in report.notes:
        wrapped(console, f"note: {note}")
    say(console, _verdict(report))


def _effects_json(report: "CompareReport") -> list[dict[str, object]]:
    if not report.effect:
        return []
    from tracker.reports.effect import effect_json

    return [effect_json(one) for one in report.effect]


def _print_effects(report: "CompareReport", console: "Screen") -> None:
    """What the machine does; what shows it is loaded only where code differs."""
    if report.effect:
        from tracker.reports.effect import print_effect

        for one in report.effect:
            print_effect(one, console)


def _verdict(report: "CompareReport") -> str:
    if report.same_bytes:
        return f"{NO_DIFFERENCE} The two are identical to the last byte."
    if report.same_code and set(report.kinds) <= TEXT_ONLY:
        return NO_DIFFERENCE
    kinds = ", ".join(in_order(set(report.kinds) - TEXT_ONLY))
    if report.same_code:
        return f"No difference found in the code of the programs. Changed: {kinds}."
    return f"Different code: {kinds}." if kinds else "Different code."


def _change(change: "ShownChange") -> dict[str, object]:
    data: dict[str, object] = {
        "kind": change.kind,
        "file": change.file,
        "tool": change.tool,
        "old": _side_json(change.old),
        "new": _side_json(change.new),
    }
    if change.words is not None:
        data["words"] = change.words
    return data


def _side_json(side: "Side | None") -> dict[str, object] | None:
    return None if side is None else {"line": side.line, "text": side.text}
