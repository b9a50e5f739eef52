"""``compare``: how two texts differ, of files anywhere or of revisions."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli.fast_files import read_file
from tracker.cli.frame import Csv, Frame, Json
from tracker.errors import BadCall, ProveoutError
from tracker.services.comparing import (
    CompareReport,
    PlainFile,
    compare_files,
    compare_mixed,
    compare_revisions,
)
from tracker.services.locate import find_job
from tracker.services.naming import Named, parse_named

if TYPE_CHECKING:
    from tracker.services.desk import Desk
    from tracker.services.revision_text import RevisionText


def command(
    ctx: typer.Context,
    old: Annotated[str, typer.Argument(metavar="OLD", help="A file, or a revision like 4471/op10@r4.")],
    new: Annotated[str, typer.Argument(metavar="NEW", help="The other one.")],
    exit_code: Annotated[bool, typer.Option("--exit-code", help="End with 1 when the code differs.")] = False,
    everything: Annotated[bool, typer.Option("--all", help="Show every change, however many.")] = False,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Show how NEW differs from OLD, tool by tool."""
    from tracker.reports.compare import as_json, print_text

    frame = Frame.of(ctx, json=json, csv=csv)
    report = _compare(frame, _side(frame, old), _side(frame, new))
    frame.answer(
        "compare",
        lambda: as_json(report),
        lambda console: print_text(report, console, everything=everything),
    )
    return 1 if exit_code and not report.same_code else 0


def _side(frame: Frame, text: str) -> PlainFile | Named:
    """A file where there is one of that name, else a revision."""
    place = Path(frame.folder) / text
    if text != "-" and not place.exists():
        named = _meant(frame, text)
        if named is not None:
            return named
    return PlainFile(name=text, data=read_file("-" if text == "-" else str(place)))


def _meant(frame: Frame, text: str) -> Named | None:
    """The revision a name means; without ``@`` only where there is such a job, else it was meant as a file."""
    if "@" in text:
        return parse_named(text)
    try:
        named = parse_named(text)
        find_job(frame.desk().repo.tree(), named.job)
    except ProveoutError:
        return None
    return named


def _compare(frame: Frame, old: PlainFile | Named, new: PlainFile | Named) -> CompareReport:
    if isinstance(old, PlainFile) and isinstance(new, PlainFile):
        return compare_files(old, new)
    desk = frame.desk()
    shop = desk.repo.tree().shop()
    if isinstance(old, Named) and isinstance(new, Named):
        older, newer = _revision(desk, old), _revision(desk, new)
        return compare_revisions(shop, older, newer, (str(old), str(new)))
    if isinstance(old, Named) and isinstance(new, PlainFile):
        return compare_mixed(shop, _revision(desk, old), new, (str(old), new.name), file_is_new=True)
    if isinstance(old, PlainFile) and isinstance(new, Named):
        return compare_mixed(shop, _revision(desk, new), old, (old.name, str(new)), file_is_new=False)
    raise BadCall("wrong-call", "compare wants two files or revisions", fix="proveout compare OLD NEW")


def _revision(desk: "Desk", named: Named) -> "RevisionText":
    from tracker.services.recorded import recorded
    from tracker.services.revision_text import revision_text

    return revision_text(desk.repo, recorded(desk, named).stored)
