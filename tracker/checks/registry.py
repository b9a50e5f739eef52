"""All rules by family, in the order they are listed."""

import difflib
from collections.abc import Mapping

from tracker.checks.rule import Rule
from tracker.checks.rules import (
    approach,
    bar,
    changer_limits,
    clearance,
    coolant,
    cutter_comp,
    cycle,
    debris,
    decimal_point,
    depths,
    feed,
    frame_of_program,
    header,
    held_in_front,
    homing,
    kind_of_machine,
    labels,
    length_offset,
    machine_codes,
    pockets,
    precall,
    probing,
    profile,
    program_number,
    sheet_lists,
    spindle,
    stick_out,
    stock_span,
    tap_hole,
    tapping,
    text_limits,
    travel,
    travel_along,
    turning,
    units,
    went_before,
    work_offset,
)

CHECKS_VERSION = 12
"""Goes up with every rule added or changed, so that a record says which rules its findings come from."""

FAMILIES: Mapping[str, tuple[Rule, ...]] = {
    "tool length and radius offsets": length_offset.RULES,
    "home return": homing.RULES,
    "spindle": spindle.RULES,
    "work offset": work_offset.RULES,
    "decimal point": decimal_point.RULES,
    "tool change": precall.RULES,
    "rapids": clearance.RULES,
    "cycles": cycle.RULES,
    "frame of the program": (*frame_of_program.RULES, *labels.RULES),
    "units": (*units.RULES, *stock_span.RULES),
    "start of a tool": approach.RULES,
    "left over": debris.RULES,
    "feed": feed.RULES,
    "tapping": (*tapping.RULES, *tap_hole.RULES),
    "stick-out": (*stick_out.RULES, *depths.RULES),
    "lists of the sheet": sheet_lists.RULES,
    "magazine": (*pockets.RULES, *changer_limits.RULES),
    "cutter compensation": cutter_comp.RULES,
    "coolant": coolant.RULES,
    "travel": (*travel.RULES, *travel_along.RULES),
    "number of the program": program_number.RULES,
    "what a control reads": (*text_limits.RULES, *machine_codes.RULES),
    "turning": (*turning.RULES, *profile.RULES),
    "bar and jaws": (*bar.RULES, *held_in_front.RULES),
    "kind of machine": kind_of_machine.RULES,
    "probe": probing.RULES,
    "head of the program": header.RULES,
    "what went before": went_before.RULES,
}
RULES: tuple[Rule, ...] = tuple(rule for family in FAMILIES.values() for rule in family)


def rule_named(name: str) -> Rule | None:
    """The rule with this name."""
    return next((rule for rule in RULES if rule.name == name), None)


def nearest_names(name: str, also: tuple[str, ...] = ()) -> tuple[str, ...]:
    """The names most like one that is none; ``also``: names known elsewhere."""
    known = [*(rule.name for rule in RULES), *also]
    return tuple(difflib.get_close_matches(name.lower(), known, n=3, cutoff=0.4))
