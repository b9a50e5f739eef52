"""``checkin``: record the text of operations as their next revisions."""

from dataclasses import dataclass
from pathlib import PurePath
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli import complete
from tracker.cli.frame import By, Csv, Frame, Json, Reason, Yes
from tracker.cli.progress import progress
from tracker.errors import BadCall
from tracker.reports.checkin import (
    as_json,
    changes_json,
    print_changes,
    print_shop,
    print_text,
    shop_json,
)
from tracker.services.changed import list_changes
from tracker.services.checkin import check_in
from tracker.services.checkin_from import check_in_from
from tracker.services.checkin_shop import check_in_shop, hint_of_shop
from tracker.services.named_by_id import is_id, no_id
from tracker.services.naming import Named, parse_named

if TYPE_CHECKING:
    from tracker.services.desk import Desk


def command(
    ctx: typer.Context,
    names: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[JOB[/OP]...]",
            help="Operations, or shop.toml; without, what changed is listed.",
            autocompletion=complete.to_check_in,
        ),
    ] = None,
    reason: Reason = None,
    by: By = None,
    entered_by: Annotated[
        str | None,
        typer.Option(
            "--entered-by", metavar="INITIALS", help="Who types it in for the one whose text it is."
        ),
    ] = None,
    everything: Annotated[bool, typer.Option("--all", help="Every operation that changed.")] = False,
    off_control: Annotated[
        bool,
        typer.Option("--off-control", help="The text comes off a control: a setup person may check it in."),
    ] = False,
    old: Annotated[
        str | None,
        typer.Option("--from", metavar="rN", help="The programs of this revision again, as the next one."),
    ] = None,
    dry_run: Annotated[bool, typer.Option("-n", "--dry-run", help="Say what would be done.")] = False,
    yes: Yes = False,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Record what an operation's programs and setup sheet say now."""
    frame = Frame.of(ctx, csv=csv, json=json, yes=yes)
    desk = frame.desk()
    asked = _Asked(by=by, reason=reason, entered_by=entered_by, dry_run=dry_run)
    if old is not None:
        return _again(frame, desk, names or [], old, asked, other=everything or off_control)
    if not names and not everything:
        changes = list_changes(desk)
        frame.answer(
            "checkin", lambda: changes_json(changes), lambda console: print_changes(changes, console)
        )
        return 2 if changes.problems else 0
    try:
        if names and any(PurePath(name).name.lower() == "shop.toml" for name in names):
            return _shop(frame, desk, asked, alone=len(names) == 1 and not everything)
        with progress(hidden=json) as tell:
            report = check_in(
                desk,
                [_named(desk, name) for name in names or ()],
                everything=everything,
                off_control=off_control or (entered_by is not None and entered_by != by),
                by=by,
                reason=reason,
                entered_by=entered_by,
                dry_run=dry_run,
                tell=tell,
            )
    except BadCall as fault:
        raise hint_of_shop(desk, fault) from fault
    frame.answer("checkin", lambda: as_json(report), lambda console: print_text(report, console))
    return 2 if report.problems and everything else 0


def _named(desk: "Desk", text: str) -> Named:
    """What is to become a revision; an id, which names one that is there, is a call that is wrong."""
    if not is_id(text):
        return parse_named(text)
    return no_id(desk, text)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """Who checks in, why, and whether it is only to be said."""

    by: str | None
    reason: str | None
    entered_by: str | None
    dry_run: bool


def _shop(frame: Frame, desk: "Desk", asked: _Asked, *, alone: bool) -> int:
    if not alone:
        raise BadCall(
            "shop-alone", "shop.toml is checked in by itself", fix="name the operations in another call"
        )
    shop = check_in_shop(desk, by=asked.by, reason=asked.reason, dry_run=asked.dry_run)
    frame.answer("checkin", lambda: shop_json(shop), lambda console: print_shop(shop, console))
    return 0


def _again(frame: Frame, desk: "Desk", names: list[str], old: str, asked: _Asked, *, other: bool) -> int:
    if len(names) != 1 or other:
        raise BadCall(
            "wrong-call",
            "--from takes one operation",
            fix="write it like: proveout checkin 4471/op10 --from r2 -m WHY",
        )
    report = check_in_from(
        desk,
        _named(desk, names[0]),
        old,
        by=asked.by,
        reason=asked.reason,
        entered_by=asked.entered_by,
        dry_run=asked.dry_run,
    )
    frame.answer("checkin", lambda: as_json(report), lambda console: print_text(report, console))
    return 0
