"""``compare``: how two texts differ, of files anywhere, of revisions, of releases, of what two machines are to run."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli import complete
from tracker.cli.fast_files import read_file
from tracker.cli.frame import Csv, Frame, Json
from tracker.errors import ProveoutError
from tracker.services.comparing import CompareReport, PlainFile, compare_files
from tracker.services.locate import find_job
from tracker.services.named_by_id import named_or_id

if TYPE_CHECKING:
    from tracker.services.compare_sides import Texts

_SIDE = "A file, a revision like 4471/op10@r4, a release like 4471@2, or a machine's: 4471@MILL2."


def command(
    ctx: typer.Context,
    old: Annotated[str, typer.Argument(metavar="OLD", help=_SIDE, autocompletion=complete.operations)],
    new: Annotated[
        str, typer.Argument(metavar="NEW", help="The other one.", autocompletion=complete.operations)
    ],
    exit_code: Annotated[bool, typer.Option("--exit-code", help="End with 1 when the code differs.")] = False,
    everything: Annotated[bool, typer.Option("--all", help="Show every change, however many.")] = False,
    unified: Annotated[
        bool, typer.Option("--unified", help="Was and is one below the other, on a wide screen too.")
    ] = False,
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
        lambda console: print_text(report, console, everything=everything, unified=unified),
    )
    return 1 if exit_code and not report.same_code else 0


def _side(frame: Frame, text: str) -> "PlainFile | Texts":
    """A file where there is one of that name, else what the record has under it."""
    place = Path(frame.folder) / text
    if text != "-" and not place.exists() and _is_recorded(frame, text):
        from tracker.services.compare_sides import texts_named

        return texts_named(frame.desk(), text)
    return PlainFile(name=text, data=read_file("-" if text == "-" else str(place)))


def _is_recorded(frame: Frame, text: str) -> bool:
    """Whether no file can be meant: there is an ``@``, or a job of that name."""
    if "@" in text:
        return True
    try:
        desk = frame.desk()
        found = named_or_id(desk, text)
        if found.says is None:
            find_job(desk.repo.tree(), found.named.job)
    except ProveoutError:
        return False
    return True


def _compare(frame: Frame, old: "PlainFile | Texts", new: "PlainFile | Texts") -> CompareReport:
    from tracker.services.comparing_sides import compare_texts, compare_with_file

    if isinstance(old, PlainFile):
        if isinstance(new, PlainFile):
            return compare_files(old, new)
        return compare_with_file(frame.desk().repo.tree().shop(), new, old, file_is_new=False)
    shop = frame.desk().repo.tree().shop()
    if isinstance(new, PlainFile):
        return compare_with_file(shop, old, new, file_is_new=True)
    return compare_texts(shop, old, new)
