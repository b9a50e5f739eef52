"""Where the setup sheet does not follow an edit made at a control: T, H, D or a work offset it does not have so.

Whoever mounts the job next mounts it by the sheet, so such an edit is taken in only after the sheet was changed and
checked in (common practice, no source). What the text of the office has of it already is no matter of the edit, and
what a waiver of the sheet lets stand is none either.
"""

from collections import Counter
from collections.abc import Mapping

from tracker.checks.finding import Finding
from tracker.checks.registry import RULES
from tracker.errors import Refused
from tracker.services.locate import find_job, find_operation
from tracker.services.operation_text import operation_text
from tracker.services.overlay import Overlay
from tracker.services.paths import name_of
from tracker.services.ports import Tree
from tracker.services.verifying import verified

_NAMES = ("h-not-tool", "d-not-tool", "tool-not-on-sheet", "offset-not-on-sheet", "turret-offset")
_ASKED = tuple(rule for rule in RULES if rule.name in _NAMES)
MOST_NAMED = 12
"""Findings named; of more, how many."""


def sheet_behind(tree: Tree, job: str, operation: str, texts: Mapping[str, bytes]) -> tuple[str, ...]:
    """What the edited ``texts`` (path in the repository -> bytes) use otherwise than the sheet of ``tree`` says, in words.

    Raises BadCall (``unknown-job``, ``unknown-operation``, a broken job.toml, ...).
    """
    path = find_job(tree, job)
    after = _found(Overlay(tree, tree, given=dict(texts)), path, operation)
    new = Counter(map(_key, after)) - Counter(map(_key, _found(tree, path, operation) if after else ()))
    words = dict.fromkeys(_words(one) for one in after if _key(one) in new)
    more = len(words) - MOST_NAMED
    return (*list(words)[:MOST_NAMED], *([f"and {more} more"] if more > 0 else ()))


def refuse_sheet_behind(tree: Tree, job: str, operation: str, texts: Mapping[str, bytes]) -> None:
    """Raise Refused (``sheet-behind``) where the setup sheet does not follow the edited texts."""
    found = sheet_behind(tree, job, operation, texts)
    if found:
        raise Refused(
            "sheet-behind",
            f"the setup sheet of {job}/{operation} does not follow this edit; nothing is taken in",
            where=find_job(tree, job),
            fix="change T, H, D or the work offset on the setup sheet first and check that in, then do this again; or put them "
            "back at the control",
            reasons=found,
        )


def _found(tree: Tree, path: str, operation: str) -> list[Finding]:
    job, shop = tree.job(path), tree.shop()
    text = operation_text(tree, path, job, find_operation(job, operation), shop)
    return [one for one in verified(text, shop, rules=_ASKED).findings if one.stops and one.rule in _NAMES]


def _key(one: Finding) -> tuple[str, str | None, str, str | None]:
    return one.rule, one.tool, one.message, one.machine


def _words(one: Finding) -> str:
    line = f"{name_of(one.file)}:{one.line}: " if one.file and one.line else ""
    return f"{line}{one.message}"
