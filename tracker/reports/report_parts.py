"""The parts of a report, each a piece of HTML. Everything from outside goes through `sheet_html_parts.text`."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from tracker.nc import kinds as k
from tracker.policy.states import USABLE
from tracker.reports.cautions import MINUTES, NO_DIFFERENCE
from tracker.reports.effect import NOT_WHOLE, changed_figures
from tracker.reports.history import said
from tracker.reports.sheet_html_parts import text
from tracker.reports.times import moment, zone

if TYPE_CHECKING:
    from tracker.services.history import Happened
    from tracker.services.report import OperationReport
    from tracker.services.report_evidence import Evidence, FileShown
    from tracker.services.report_places import Line, Place
    from tracker.services.status_look import StatusRow

_LONG = ("why", "said")
"""Columns of sentences: they get the room."""
_LISTED = (*_LONG, "what")
"""A table with one of these columns stands as a list on a narrow screen; one of figures stays a table."""
_FEW = 12
"""Places that are shown without folding them by tool."""


def table(caption: str, headers: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table that can be scrolled sideways by keyboard; cells are HTML already.

    On a narrow screen a row may stand as a list, headers before the cells; the roles keep it a table for who hears it.
    """
    head = "".join(f'<th scope="col" role="columnheader">{text(one)}</th>' for one in headers)
    kind = "listed" if set(headers) & set(_LISTED) else "figures"
    body = "".join(f'<tr role="row">{_cells(headers, row)}</tr>' for row in rows)
    return (
        f'<div class="wide" tabindex="0" role="region" aria-label="{text(caption)}"><table role="table" class="{kind}">'
        f'<thead role="rowgroup"><tr role="row">{head}</tr></thead><tbody role="rowgroup">{body}</tbody></table></div>'
    )


def _cells(headers: Sequence[str], row: Sequence[str]) -> str:
    return "".join(
        f'<td role="cell" class="{"long" if head in _LONG else "short"}" data-label="{text(head)}">{cell}</td>'
        for head, cell in zip(headers, row, strict=True)
    )


def state(word: str) -> str:
    """A standing in words: framed twice as heavy where it stops."""
    return f'<span class="{"may" if word.lower() in USABLE else "stop"}">{text(word)}</span>'


def board(rows: Sequence["StatusRow"], caption: str, *, named: bool = False) -> str:
    """Rows of the board; ``named``: with the operation they are of."""
    headers = ("machine", "standing", "why", "release", "may run", "next")
    return table(
        caption,
        ("operation", "revision", *headers) if named else headers,
        (
            (
                *((text(f"{row.job}/{row.operation}"), text(row.revision or "-")) if named else ()),
                text(row.machine or "-"),
                state(row.state),
                text(row.reason),
                text("-" if row.released is None else row.released),
                "yes" if row.may_run else "no",
                text(row.next or "-"),
            )
            for row in rows
        ),
    )


def standing(part: "OperationReport") -> str:
    """How the reported revision stands on each machine."""
    if part.rows:
        return board(part.rows, f"Standing of {part.name}")
    if not part.standings:
        return "<p>The setup sheet names no machine for it.</p>"
    return table(
        f"Standing of {part.name}",
        ("machine", "standing", "why"),
        ((text(one.machine), state(one.standing.state), text(one.standing.reason)) for one in part.standings),
    )


def timeline(events: Sequence["Happened"], timezone: str, name: str) -> str:
    """What happened, oldest first."""
    tz = zone(timezone)
    return table(
        f"Timeline of {name}",
        ("when", "what", "revision", "machine", "who", "said"),
        (
            (
                f'<span class="when">{text(moment(one.at, tz))}</span>',
                text(one.event),
                text(one.revision or "-"),
                text(one.machine or "-"),
                text(one.by),
                text(said(one)),
            )
            for one in events
        ),
    )


def differences(part: "OperationReport") -> str:
    """The changes by kind and place."""
    if part.against is None or part.compared is None:
        return "<h3>Differences</h3><p>There is no older revision to hold it against.</p>"
    title = text(f"{part.revision} against {part.against.label}, {part.against.why}")
    kinds = [one for one in part.compared.kinds if one not in k.TEXT_ONLY]
    quiet = [one for one in part.compared.kinds if one in k.TEXT_ONLY]
    listed = "".join(f"<li><b>{text(one)}</b>: {text(k.SENTENCES[one])}</li>" for one in kinds)
    folded = f'<p class="soft">Also changed, and no code: {text(", ".join(quiet))}.</p>' if quiet else ""
    none = f"<p>{text(NO_DIFFERENCE)}</p>" if part.compared.same_code else ""
    notes = "".join(f"<p>note: {text(note)}</p>" for note in part.compared.notes)
    marks = _marks(part)
    places = _places(part, marks)
    more = f"<p>And {part.more_places} more places.</p>" if part.more_places else ""
    return f"<h3>Differences: {title}</h3>{none}<ul>{listed}</ul>{folded}{notes}{places}{more}{effects(part)}"


def _places(part: "OperationReport", marks: set[int]) -> str:
    """Few places one under the other, many folded by tool."""
    shown = [(one, _place(part.name, one, drawn=one.number in marks)) for one in part.places]
    if len(shown) <= _FEW:
        return "".join(html for _, html in shown)
    groups: dict[str, list[str]] = {}
    for one, html in shown:
        groups.setdefault(f"T{one.tool}" if one.tool else one.file, []).append(html)
    return "".join(
        f"<details><summary>{text(name)}: {len(held)} places</summary>{''.join(held)}</details>"
        for name, held in groups.items()
    )


def _marks(part: "OperationReport") -> set[int]:
    """Places that have a stretch in a drawing."""
    paths = [one.path for one in part.drawings if one.path is not None]
    return {strand.mark for path in paths for strand in path.strands if strand.mark is not None} | {
        hole[1] for path in paths for hole in path.holes if hole[1] is not None
    }


def _place(name: str, one: "Place", *, drawn: bool) -> str:
    where = f"T{one.tool}" if one.tool else one.file
    line = one.new or one.old
    at = f", line {line.line}" if line is not None else ""
    title = text(f"{one.number}. {where}: {', '.join(one.kinds)}{at}")
    button = (
        f'<button type="button" aria-pressed="false" data-pick="{text(name)}" data-place="{one.number}">'
        f"Show change {one.number} on the path</button>"
        if drawn
        else ""
    )
    words = f"<p>{text(one.words)}</p>" if one.words else ""
    old = _lines("before", one.old_around, one.old.line if one.old else None)
    new = _lines("after", one.new_around, one.new.line if one.new else None)
    return f"<details><summary>{title}</summary>{button}{words}{old}{new}</details>"


def _lines(side: str, lines: Sequence["Line"], changed: int | None) -> str:
    if not lines:
        return f'<p class="soft">{side}: not there</p>'
    shown = "\n".join(
        f"<b>&gt; {at:>5} {text(line)}</b>" if at == changed else f"  {at:>5} {text(line)}"
        for at, line in lines
    )
    return f'<p class="soft">{side}</p><pre tabindex="0">{shown}</pre>'


def effects(part: "OperationReport") -> str:
    """What the machine does otherwise, was and is."""
    found = part.compared.effect if part.compared is not None else ()
    rows = [
        tuple(text(cell) for cell in (effect.file, *row))
        for effect in found
        for row in changed_figures(effect)
    ]
    if not rows:
        return ""
    least = any(effect.old.not_followed or effect.new.not_followed for effect in found)
    note = f"<p>{text(MINUTES)}{f' {text(NOT_WHOLE)}' if least else ''}</p>"
    return (
        "<h3>What the machine does otherwise</h3>"
        + table(f"Effect of the changes in {part.name}", ("program", "tool", "figure", "was", "is"), rows)
        + note
    )


def evidence(found: "Evidence") -> str:
    """Fingerprints, files and records, and how anybody checks them with plain git and sha256sum."""
    rows = [_file(one) for one in (*found.programs, *found.records)]
    tag = (
        f"<p>The release: <code>git show refs/tags/{text(found.tag)}</code> names its record and the record's SHA-256.</p>"
        if found.tag
        else ""
    )
    return (
        "<h3>Evidence</h3>"
        f"<p>Fingerprint of the operation: <code>{text(found.operation_fingerprint)}</code><br>"
        f"of its setup sheet: <code>{text(found.sheet_fingerprint)}</code></p>"
        + table(
            "Evidence", ("what", "file", "state", "SHA-256 of the bytes", "fingerprint of the code"), rows
        )
        + "<p>Check a file with nothing but git: <code>git show STATE:FILE | sha256sum</code> gives the SHA-256 of its row. "
        "The fingerprint of a program's code: <code>proveout fingerprint FILE</code>.</p>" + tag
    )


def _file(one: "FileShown") -> tuple[str, ...]:
    return (
        text(one.what),
        f"<code>{text(one.path)}</code>",
        f"<code>{text(one.state)}</code>",
        f"<code>{text(one.sha256)}</code>",
        f"<code>{text(one.fingerprint)}</code>" if one.fingerprint else "-",
    )
