"""``compare``: how two texts differ, of files anywhere or of revisions."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli.fast_files import read_file
from tracker.cli.frame import Frame, Json
from tracker.errors import BadCall, ProveoutError
from tracker.services.comparing import (
    CompareReport,
    PlainFile,
    compare_files,
    compare_mixed,
    compare_revisions,
)
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
    json: Json = False,
) -> int:
    """Show how NEW differs from OLD, tool by tool."""
    from tracker.reports.compare import as_json, print_text

    frame = Frame.of(ctx, json=json)
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
    if text == "-" or place.is_file():
        return PlainFile(name=text, data=read_file("-" if text == "-" else str(place)))
    if not place.exists() and not _looks_like_file(text):
        return parse_named(text)
    return PlainFile(name=text, data=read_file(str(place)))


def _looks_like_file(text: str) -> bool:
    """Whether a name that nothing answers to was meant as a file: it has an extension, or is no way to name a job."""
    try:
        named = parse_named(text)
    except ProveoutError:
        return True
    return named.revision is None and ("." in text or "/" not in text)


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
    raise BadCall("wrong-call", "compare wants two files or revisions")


def _revision(desk: "Desk", named: Named) -> "RevisionText":
    from tracker.services.recorded import recorded
    from tracker.services.revision_text import revision_text

    return revision_text(desk.repo, recorded(desk, named).stored)
