"""Labels: which N words something jumps to, and what becomes of them.

What one line says (`references`):

* *sure* jumps: GOTO n, M97 Pn;
* *pairs*: P and Q of a G70–G73 with one P and one Q, no X Y Z, both whole numbers: sure when both labels exist;
* *possible* labels: every other whole number of a block with M96–M99, M198, G65–G67, G70–G76 or a code that is not
  plain (`tracker.nc.codes`); G25 is one of those;
* *wide* ones, which may name a line of another program in the same file: M99 P, and Q and H of a call;
* a *reason* why every N of the scope stays as it is: a computed jump, an N that is not first, a variable that reads
  the line number, a line that is not words, a macro call after every block. ``M99 P#1`` holds for every scope of the file, and so does a variable
  that reads the line number: a program that has none of its own reads that of its caller;
* what a comment that is code says (`beside`): a statement with a number in it is a reason, words behind ``;`` name
  what they would name as a block, and an N among them is one that is not first.

What a scope makes of it (`decide`): with a reason, a label defined twice, one that is a fraction or stands on a data line, every N stays.
A missing label keeps every N of the file: the jump may find it beyond the next O. Otherwise a label that a possible
reference names stays, with the jumps to it; the other labels of sure jumps are renamed; all other N go.
"""

from collections.abc import Iterable

from tracker.frozen import dataclass, field
from tracker.nc.codes import CALL_G, CALL_M, PLAIN_G, PLAIN_M, TURNING_G, code_of
from tracker.nc.item import Item

COMPUTED = "computed jump"
NOT_FIRST = "line number that is not first in its block"
VARIABLE = "variable that reads the line number or has a computed index"
COMPUTED_CODE = "computed G or M code"
EVERY_BLOCK = "macro call after every block"
STATEMENT = "comment that another control reads as a jump"
_NOT_A_LABEL = frozenset("GMNO")


@dataclass(slots=True)
class References:
    """What one line says about labels. ``jumps`` are places in ``items`` whose number is a label: (index, label)."""

    sure: set[str] = field(default_factory=set)
    pairs: list[tuple[str, str]] = field(default_factory=list)
    possible: set[str] = field(default_factory=set)
    wide: set[str] = field(default_factory=set)
    jumps: list[tuple[int, str]] = field(default_factory=list)
    reason: str = ""
    wide_reason: str = ""


def references(items: list[Item]) -> References:
    """Jumps and possible labels of one line; its own N must not be among the items."""
    found = References()
    g, m = _codes(items, "G"), _codes(items, "M")
    for index, item in enumerate(items):
        letter = item.word.letter
        if letter == "GOTO":
            _jump(found, index, item)
        elif letter == "N":
            found.reason = NOT_FIRST
        elif letter in ("G", "M") and not item.word.number[:1].isdigit():
            found.reason = COMPUTED_CODE
    if any(number.split(".")[0] in ("25", "70", "71", "72", "73", "74", "75", "76") for number in g):
        _cycle(found, items, g)
    elif not (g <= PLAIN_G and m <= PLAIN_M):
        _call(found, items, g, m)
    return found


def beside(found: References, behind: Iterable[list[Item]], *, statement: bool, odd_variable: bool) -> None:
    """Add what comments that are code say to what their line says.

    Args:
        found: what the line says.
        behind: the words behind every ``;`` that may end a block.
        statement: a comment with a number in it opens like a statement.
        odd_variable: a comment shows a variable that reads the line number or has a computed index.
    """
    for items in behind:
        there = references(items)
        found.wide |= (
            there.sure | there.possible | there.wide | {label for pair in there.pairs for label in pair}
        )
        found.reason = found.reason or there.reason
        found.wide_reason = found.wide_reason or there.wide_reason
    if statement:
        found.reason = found.reason or STATEMENT
    if odd_variable:
        reads_numbers(found)


def reads_numbers(found: References) -> None:
    """The line reads the last line number, or may do so.

    Known for it are #4114, #4314 and #4514 (from memory; #4115 and its like read the O number, which is code anyway).
    A computed index may come out as one of them, whatever stands in its expression; one that is only assigned to is
    not read, so filling a table by index costs nothing.
    """
    found.reason = found.reason or VARIABLE
    found.wide_reason = found.wide_reason or VARIABLE


def behind(found: References, letter: str, numbers: list[str]) -> None:
    """Add what a comment of nothing but numbers may name that stands behind a word (``L10(5)``).

    Behind an N, a jump or in a block that names labels it may be a part of the label.
    """
    if not numbers:
        return
    if letter in ("N", "GOTO") or found.sure or found.pairs or found.possible or found.wide:
        found.reason = found.reason or STATEMENT
        found.wide_reason = found.wide_reason or (STATEMENT if found.wide else "")
    else:
        found.possible |= set(numbers)


def _codes(items: Iterable[Item], letter: str) -> set[str]:
    return {code_of(item.word.number) for item in items if item.word.letter == letter}


def _jump(found: References, index: int, item: Item) -> None:
    if _is_mark(item):
        return
    if item.value is None or item.word.number.startswith("+"):
        found.reason = COMPUTED
    else:
        found.sure.add(item.value)
        found.jumps.append((index, item.value))


def _cycle(found: References, items: list[Item], g: set[str]) -> None:
    """G70–G76 and G25: a contour named by two labels, or numbers that may be labels."""
    at = {letter: [i for i, item in enumerate(items) if item.word.letter == letter] for letter in "PQXYZ"}
    named = [items[i] for letter in "PQ" for i in at[letter]]
    contour = g & (TURNING_G | {"25"})
    jumps = named + [item for item in items if item.word.letter == "L" and "25" in g]
    if contour and any(
        not item.word.number.lstrip("+-")[:1].isdigit() and not _is_mark(item) for item in jumps
    ):
        found.reason = COMPUTED
    values = [item.value for item in named]
    if (
        g & TURNING_G
        and len(at["P"]) == len(at["Q"]) == 1
        and not (at["X"] or at["Y"] or at["Z"])
        and values[0] is not None
        and values[1] is not None
        and not any(item.word.number.startswith("+") for item in named)
    ):
        found.pairs.append((values[0], values[1]))
        found.jumps += [(i, items[i].value or "") for letter in "PQ" for i in at[letter]]
        _possible(found, [item for item in items if item not in named])
    else:
        _possible(found, items)


def _call(found: References, items: list[Item], g: set[str], m: set[str]) -> None:
    """Calls, returns and codes that may be custom calls."""
    called = bool(m & CALL_M or g & CALL_G)
    if "66.1" in g:
        found.reason = found.wide_reason = (
            EVERY_BLOCK  # one of nothing but a number may be one, too (from memory)
        )
    others = []
    for index, item in enumerate(items):
        letter = item.word.letter
        if letter == "P" and m & CALL_M == {"97"}:
            _jump(found, index, item)
            continue
        others.append(item)
        if letter == "P" and m & {"96", "97", "99"} and item.value is None and not _is_mark(item):
            found.reason = COMPUTED
            found.wide_reason = COMPUTED if "99" in m else found.wide_reason
        elif letter in "PL" and _is_computed(item) and (m & {"98", "198"} or not called or _jumps(items, g)):
            found.reason = COMPUTED
        elif item.value is not None and ((letter == "P" and "99" in m) or (letter in "QH" and called)):
            found.wide.add(item.value)
    _possible(found, others)


def _possible(found: References, items: Iterable[Item]) -> None:
    found.possible |= {
        item.value
        for item in items
        if item.value is not None and len(item.word.letter) == 1 and item.word.letter not in _NOT_A_LABEL
    }


def _is_computed(item: Item) -> bool:
    return item.word.number.lstrip("+-")[:1] in ("#", "[") or item.word.number.lstrip("+-")[:1].isalpha()


def _jumps(items: list[Item], g: set[str]) -> bool:
    """Whether it is a macro call of the old kind that jumps: G65 with H80 to H99 (from memory)."""
    h = [item.word.number for item in items if item.word.letter == "H"]
    return bool(g & CALL_G) and any(code_of(number)[:1] in ("8", "9", "#", "[") for number in h)


def _is_mark(item: Item) -> bool:
    return item.word.number.startswith("=")


@dataclass(slots=True)
class Scope:
    """What the lines of one scope say together, and which labels it defines.

    ``defined`` counts only the labels that some jump or possible reference of the file names.
    """

    first_line: int
    sure: set[str] = field(default_factory=set)
    pairs: list[tuple[str, str]] = field(default_factory=list)
    possible: set[str] = field(default_factory=set)
    reasons: dict[str, int] = field(default_factory=dict)
    defined: dict[str, int] = field(default_factory=dict)
    unsure: set[str] = field(default_factory=set)

    def add(self, found: References, line: int) -> None:
        """Take in what a line says."""
        self.sure |= found.sure
        self.pairs += found.pairs
        self.possible |= found.possible
        if found.reason:
            self.reasons.setdefault(found.reason, line)

    @property
    def named(self) -> set[str]:
        """Every number of the scope that is or may be a label."""
        return self.sure | self.possible | {label for pair in self.pairs for label in pair}


@dataclass(frozen=True, slots=True)
class Labels:
    """What becomes of the N words of a scope: all stay, or ``stay`` do and ``renamed`` get a mark."""

    all_stay: bool = False
    stay: frozenset[str] = frozenset()
    renamed: frozenset[str] = frozenset()

    @property
    def none(self) -> bool:
        """Whether every N goes."""
        return not (self.all_stay or self.stay or self.renamed)


ALL_GO = Labels()
ALL_STAY = Labels(all_stay=True)


def decide(scopes: list[Scope], wide: set[str], wide_reason: str) -> tuple[list[Labels], list[str]]:
    """What becomes of the N words, scope by scope, and why any stay (notes)."""
    notes = [f"line numbers kept as code: {wide_reason}"] if wide_reason else []
    file_stays = bool(wide_reason)
    for scope in scopes:
        for label in sorted(scope.sure - scope.defined.keys(), key=_order):
            file_stays = True
            notes.append(f"line numbers kept as code: no N{label} to jump to")
    decided = [_of_scope(scope, wide, notes) for scope in scopes]
    return ([ALL_STAY] * len(scopes) if file_stays else decided), notes


def _of_scope(scope: Scope, wide: set[str], notes: list[str]) -> Labels:
    sure, possible = set(scope.sure), scope.possible | wide
    for pair in scope.pairs:
        (sure if all(label in scope.defined for label in pair) else possible).update(pair)
    reasons = [f"line {line}: line numbers kept as code: {reason}" for reason, line in scope.reasons.items()]
    for label in sorted(sure, key=_order):
        if scope.defined.get(label, 0) > 1:
            reasons.append(f"line numbers kept as code: N{label} stands more than once")
        if label in scope.unsure:
            reasons.append(f"line numbers kept as code: N{label} is a fraction or a data line")
    notes += reasons
    if reasons:
        return ALL_STAY
    return Labels(stay=frozenset(possible & scope.defined.keys()), renamed=frozenset(sure - possible))


def _order(label: str) -> tuple[int, str]:
    return len(label), label
