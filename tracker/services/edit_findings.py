"""What the checks find in an edit made at a control that they do not find in the text of the office.

`SHEET`: T, H, D or a work offset that the setup sheet has otherwise. Whoever mounts the job next mounts it by the sheet, so
such an edit is taken in only after the sheet was changed and checked in. `REACH`: how deep a tool goes and how low a rapid
is, looked at again where the way of a tool was changed (both common practice, no source). What the text of the office has of
it already, waived or not, is no matter of the edit, and what a waiver of the sheet lets stand is none either. A program
that several operations call is held against the sheet of each of them, for each gets a revision with it.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import suppress

from tracker.checks.finding import REFUSE, Finding, NotComputed
from tracker.checks.registry import RULES
from tracker.errors import BadCall, Refused
from tracker.nc.kinds import MODE, MOTION, OFFSET, PRECALL, TOOL
from tracker.policy.find import newest_of, same_name
from tracker.records.events import RevisionRecord
from tracker.records.stored import Ledger
from tracker.services.locate import find_job, find_operation
from tracker.services.operation_text import operation_text
from tracker.services.overlay import Overlay
from tracker.services.paths import name_of
from tracker.services.ports import Tree
from tracker.services.verifying import verified

SHEET = frozenset({"h-not-tool", "d-not-tool", "tool-not-on-sheet", "offset-not-on-sheet", "turret-offset"})
LOST = frozenset({"no-length-offset", "no-work-offset", "change-without-tool", "precall-wrong"})
"""What becomes of a T, H or work offset that was taken out, set to 0 or called for in vain; no sheet has it so."""
REACH = frozenset(
    {
        "stick-out-short",
        "flute-short",
        "lowest-z",
        "rapid-down-across",
        "rapid-across-low",
        "rapid-near-part",
        "approach-low",
    }
)
_ASKED_OF = {
    TOOL: SHEET | LOST | REACH,
    OFFSET: SHEET | LOST | REACH,
    PRECALL: SHEET | LOST,
    MOTION: REACH,
    MODE: REACH,
}
MOST_NAMED = 12
"""Findings named; of more, how many."""


def asked_of(kinds: Iterable[str]) -> frozenset[str]:
    """The rules to be asked of a change of these kinds."""
    return frozenset().union(*(_ASKED_OF.get(kind, frozenset()) for kind in kinds))


def new_findings(
    tree: Tree, job: str, operation: str, texts: Mapping[str, bytes], names: Collection[str]
) -> list[Finding]:
    """What rules of these names find with the edited ``texts`` (path in the repository -> bytes), and not without them.

    Raises BadCall (``unknown-job``, ``unknown-operation``, a broken job.toml, ...).
    """
    path = find_job(tree, job)
    edited = _found(Overlay(tree, tree, given=dict(texts)), path, operation, names)
    after = [one for one in edited if not one.waived]
    before = Counter(map(_key, _found(tree, path, operation, names) if after else ()))
    new = Counter(map(_key, after)) - before
    return [one for one in after if _key(one) in new]


def sheets_of_others(
    tree: Tree, ledger: Ledger, job: str, operation: str, texts: Mapping[str, bytes]
) -> dict[str, tuple[str, ...]]:
    """``4471/op20`` -> where its setup sheet does not follow; of other operations whose newest revision has one of the texts."""
    found: dict[str, tuple[str, ...]] = {}
    for other_job, other in _others(ledger, job, operation, texts):
        with suppress(BadCall):  # gone, or broken: the check-in makes no revision of it, or says so
            new = new_findings(tree, other_job, other, texts, SHEET)
            found[f"{other_job}/{other}"] = words_of(one for one in new if one.stops)
    return {spelled: words for spelled, words in found.items() if words}


def refuse_sheet_behind(
    tree: Tree, ledger: Ledger, job: str, operation: str, texts: Mapping[str, bytes], kinds: Iterable[str]
) -> None:
    """Raise Refused (``sheet-behind``) where a setup sheet does not follow the edited texts, changed in these ways."""
    asked = SHEET | (asked_of(kinds) & LOST)
    own = words_of(one for one in new_findings(tree, job, operation, texts, asked) if one.stops)
    behind = {f"{job}/{operation}": own} if own else {}
    behind |= sheets_of_others(tree, ledger, job, operation, texts)
    if not behind:
        return
    several = len(behind) > 1
    raise Refused(
        "sheet-behind",
        f"the setup {'sheets' if several else 'sheet'} of {', '.join(behind)} {'do' if several else 'does'} not follow this "
        "edit; nothing is taken in",
        where=find_job(tree, next(iter(behind)).partition("/")[0]),
        fix="change T, H, D or the work offset on the setup sheet first and check that in, then do this again; or put them "
        "back at the control",
        reasons=tuple(
            f"{spelled}: {one}" if several else one for spelled, words in behind.items() for one in words
        ),
    )


def sentences(found: Iterable[Finding], others: Mapping[str, Iterable[str]]) -> list[str]:
    """What is to be said of new findings beside a changed text: of the sheet, of ``others``' sheets, of the reach."""
    listed = list(found)
    sheet = words_of(one for one in listed if one.rule in SHEET | LOST and one.stops)
    reach = words_of(one for one in listed if one.rule in REACH)
    return [
        *([f"The setup sheet does not follow: {'; '.join(sheet)}"] if sheet else ()),
        *(
            f"The setup sheet of {spelled} does not follow: {'; '.join(words)}"
            for spelled, words in others.items()
        ),
        *([f"The checks find in the edit: {'; '.join(reach)}"] if reach else ()),
    ]


def words_of(found: Iterable[Finding]) -> tuple[str, ...]:
    """``O1001.nc:18: T4: H5, needed H4``, each once; of many the first, and how many more."""
    words = dict.fromkeys(_words(one) for one in found)
    more = len(words) - MOST_NAMED
    return (*list(words)[:MOST_NAMED], *([f"and {more} more"] if more > 0 else ()))


def _found(tree: Tree, path: str, operation: str, names: Collection[str]) -> list[Finding]:
    """Findings; where T, H, D or a work offset is looked at for itself also what a rule of the sheet cannot tell of it."""
    job, shop = tree.job(path), tree.shop()
    text = operation_text(tree, path, job, find_operation(job, operation), shop)
    rules = [rule for rule in RULES if rule.name in names]
    said = verified(text, shop, rules=rules)
    found = [one for one in said.findings if one.rule in names]
    if LOST.isdisjoint(names):
        return found
    return found + [_untold(one) for one in said.not_computed if one.rule in SHEET]


def _untold(one: NotComputed) -> Finding:
    """A number that stands in no text (a variable) agrees with no sheet; two lines that say so are two."""
    return Finding(
        rule=one.rule,
        severity=REFUSE,
        message=f"{one.rule} cannot be told: {one.why}",
        remedy="",
        operation=one.operation,
        machine=one.machine,
        file=one.file,
        line=one.line,
    )


def _others(
    ledger: Ledger, job: str, operation: str, texts: Mapping[str, bytes]
) -> Iterator[tuple[str, str]]:
    """Operations beside this one whose newest revision holds one of the programs."""
    seen: set[tuple[str, str]] = set()
    for stored in newest_of(ledger):
        record = stored.record
        if not isinstance(record, RevisionRecord) or all(file.path not in texts for file in record.files):
            continue
        key = record.job or "", record.operation or ""
        own = same_name(key[0], job) and same_name(key[1], operation)
        if not own and key not in seen:
            seen.add(key)
            yield key


def _key(one: Finding) -> tuple[str, str | None, str, str | None]:
    return one.rule, one.tool, one.message, one.machine


def _words(one: Finding) -> str:
    line = f"{name_of(one.file)}:{one.line}: " if one.file and one.line else ""
    return f"{line}{one.message}"
