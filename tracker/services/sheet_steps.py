"""What is ticked off at the machine: the whole prove-out, or the short list before a repeat run.

The steps are those ``prove`` asks, in the same words. P14 and P15 are printed only: P14 is the signing that ``prove``
records, P15 comes after it. Which steps a repeat run needs is common practice, no source.
"""

from tracker.frozen import dataclass
from tracker.policy.states import CARRIED, HELD, PROVEN, WITHDRAWN, Standing
from tracker.services.prove_steps import REQUIRED_FULL, StepRule, steps_in

PROVE_OUT = "prove-out"
START = "start"
NONE = "none"

AFTERWARDS = (
    StepRule(
        key="P14",
        title="sign",
        what="Who proved it signs with proveout prove; where two persons are asked, the second countersigns.",
    ),
    StepRule(
        key="P15",
        title="afterwards",
        what="What was proved goes back to the control; old copies off the control and the stick; share the record.",
    ),
)
_REPEAT = ("P0", "P1", "P2", "P3", "P4", "P5")
_FIRST_RUN = ("P8", "P9")
_MEASURED = "P11"


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetStep:
    """One step as printed: ``figure`` what the blank is for; ``tools`` to be ticked one by one."""

    key: str
    title: str
    what: str
    figure: str | None = None
    required: bool = True
    tools: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class StepList:
    """``kind`` is `PROVE_OUT`, `START` or `NONE` (stopped: nothing may be started); ``title`` says it in words."""

    kind: str
    title: str
    steps: tuple[SheetStep, ...] = ()


def step_list(seen: Standing, tools: tuple[str, ...], units: str | None) -> StepList:
    """The list a standing asks for; ``tools`` as the program calls them, in order of use; ``units`` of its lengths."""
    asked = steps_in(units)
    if seen.state in (HELD, WITHDRAWN):
        title = f"No start list: it is {seen.state}. Print the sheet again when that has ended."
        return StepList(kind=NONE, title=title)
    if not seen.usable:
        rules = (*asked, *AFTERWARDS)
        return StepList(
            kind=PROVE_OUT,
            title="Prove-out, step by step",
            steps=tuple(
                _step(rule, tools, required=rule.key in REQUIRED_FULL or rule in AFTERWARDS) for rule in rules
            ),
        )
    first = seen.first_run_tools
    ticked = tools if "all" in first or not first else tuple(tool for tool in tools if _bare(tool) in first)
    keys = [*_REPEAT, *(_FIRST_RUN if first or seen.first_piece else ())]
    keys += [_MEASURED] if seen.first_piece else []
    return StepList(
        kind=START,
        title=_start_title(seen, first),
        steps=tuple(
            _step(rule, ticked or tuple(f"T{one}" for one in first)) for rule in asked if rule.key in keys
        ),
    )


def _step(rule: StepRule, tools: tuple[str, ...], *, required: bool = True) -> SheetStep:
    return SheetStep(
        key=rule.key,
        title=rule.title,
        what=rule.what,
        figure=rule.figure,
        required=required,
        tools=tools if rule.key == "P8" else (),
    )


def _bare(tool: str) -> str:
    return tool.removeprefix("T")


def _start_title(seen: Standing, first: tuple[str, ...]) -> str:
    if seen.state == CARRIED and first:
        names = "all tools" if "all" in first else ", ".join(f"T{tool}" for tool in first)
        return f"Start list: carried over from an earlier proof; a first run for {names}"
    words = "a proven revision" if seen.state == PROVEN else "a revision carried over"
    return f"Start list: repeat run of {words}" + ("; a first piece is asked for" if seen.first_piece else "")
