"""``audit``: whether the record is whole, and what in it does not hold; one of the lists quality asks for; the auditor's package."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tracker.cli.frame import Csv, Frame, Json
from tracker.errors import BadCall, Exit

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.reports.audit_package import Written
    from tracker.services.audit_report import AuditReport
    from tracker.services.desk import Desk


_APART = (
    ("--bundle", ("--list", "--since"), "the package holds all of it, every list too"),
    ("--anew", ("--list",), "leave --anew out: a list is read from the records themselves each time"),
    ("--integrity", ("--list", "--bundle"), "a list and a package are of everything: leave --integrity out"),
)
"""Options that go without others, and what to do."""


def command(
    ctx: typer.Context,
    named: Annotated[
        str | None,
        typer.Option("--list", metavar="NAME", help="One list: same-person, carries, lapse, waivers, ..."),
    ] = None,
    since: Annotated[
        str | None, typer.Option("--since", metavar="JOB@N", help="Only what came after this release.")
    ] = None,
    bundle: Annotated[
        Path | None,
        typer.Option(
            "--bundle", metavar="FILE.zip", help="Write a package an auditor can check without this."
        ),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is there.")] = False,
    anew: Annotated[
        bool, typer.Option("--anew", help="Believe nothing this PC noted before; look at everything again.")
    ] = False,
    integrity: Annotated[
        bool,
        typer.Option(
            "--integrity", help="Only whether the record is whole: checks and runs not asked again."
        ),
    ] = False,
    csv: Csv = False,
    json: Json = False,
) -> int:
    """Look at every record, release and recorded text, through all of history; or show one list."""
    frame = Frame.of(ctx, json=json, csv=csv)
    given = {"--list": named, "--since": since, "--bundle": bundle, "--anew": anew, "--integrity": integrity}
    _go_together({name for name, value in given.items() if value not in (None, False)})
    if named is not None:
        return _listed(frame, named, since)
    from tracker.cli.progress import progress
    from tracker.cli.sheet_file import check_new
    from tracker.reports.audit import as_json, print_since, print_text
    from tracker.reports.audit_package import print_written, written_json
    from tracker.services.audit import audit
    from tracker.services.audit_since import problems_since, since_release
    from tracker.wiring import open_evidence

    place = Path(frame.folder) / bundle if bundle is not None else None
    if place is not None:
        check_new(place, force=force)
    # what goes to an auditor rests on no note of this PC
    desk, evidence = open_evidence(frame.folder, anew=anew or place is not None, noting=not integrity)
    later = since_release(desk.repo.ledger(), since) if since is not None else None
    with progress() as tell:
        report = audit(desk, evidence, tell, integrity=integrity)
    report, left_out = problems_since(report, later) if later is not None else (report, 0)
    written = _written(desk, report, place, force=force) if place is not None else None

    def told(console: "Console") -> None:
        print_text(report, console)
        if later is not None:
            print_since(later.release, left_out, console)
        if written is not None:
            print_written(written, console)

    more = written_json(written) if written is not None else {}
    if later is not None:
        more["since"] = {"release": later.release, "older_warnings": left_out}
    frame.answer("audit", lambda: {**as_json(report), **more}, told)
    return Exit.NO if report.problems else Exit.DONE


def _go_together(given: set[str]) -> None:
    for name, others, fix in _APART:
        if name in given and not given.isdisjoint(others):
            raise BadCall("wrong-call", f"{name} goes without {' and '.join(others)}", fix=fix)


def _written(desk: "Desk", report: "AuditReport", place: Path, *, force: bool) -> "Written":
    """The package, put down whole."""
    from tracker.cli.sheet_file import put_new
    from tracker.clock import utc_text
    from tracker.reports.audit_package import package_files, written_as, zip_bytes
    from tracker.services.audit_lists import every_list
    from tracker.services.audit_package import audit_package
    from tracker.wiring import data_folder

    at = utc_text(desk.clock.now())
    package = audit_package(desk, at)
    script = (data_folder("hooks") / "auditor" / "verify.py").read_bytes()
    files = package_files(package, report, every_list(desk), script)
    packed = zip_bytes(files, at)
    put_new(place, packed, force=force)
    return written_as(str(place), packed, files, package.gaps)


def _listed(frame: Frame, named: str, since: str | None) -> int:
    from tracker.reports.audit import list_as_json, print_list
    from tracker.services.audit_lists import audit_list
    from tracker.services.audit_since import list_since, since_release

    desk = frame.view(answers=False)
    found = audit_list(desk, named)
    if since is not None:
        found = list_since(found, since_release(desk.repo.ledger(), since))
    frame.answer("audit", lambda: list_as_json(found), lambda console: print_list(found, console))
    return Exit.DONE
