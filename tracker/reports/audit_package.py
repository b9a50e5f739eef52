"""The package for an auditor: its index in plain language, its manifest, and all of it as one ZIP file.

The same record makes the same bytes: files in the order of their names, every one dated as the package is made.
"""

import hashlib
import io
import json
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import quote

from tracker.clock import parse_time
from tracker.policy.spelled import counted
from tracker.reports.audit import as_json, list_as_json
from tracker.reports.cautions import TRACE
from tracker.reports.csv_rows import csv_bytes
from tracker.reports.history import said
from tracker.reports.report_parts import table
from tracker.reports.report_style import style
from tracker.reports.sheet_html_parts import text
from tracker.reports.table import say, visible, wrapped
from tracker.reports.times import moment, zone
from tracker.services.audit_package import place_of

if TYPE_CHECKING:
    from rich.console import Console

    from tracker.services.audit_lists import ListReport
    from tracker.services.audit_package import AuditPackage
    from tracker.services.audit_report import AuditReport
    from tracker.services.history import Happened

MANIFEST = "manifest.txt"
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
_WHAT = (
    ("index.html", "this page"),
    (
        "verify.py",
        "a script that checks all of it: python verify.py, with Python 3.11 or newer and nothing else",
    ),
    (MANIFEST, "the SHA-256 of every file, as sha256sum -c manifest.txt reads it"),
    ("audit.json", "what the shop's own audit found when this was made"),
    ("lists/", "the lists of the audit, as tables for a spreadsheet"),
    (
        "records/",
        "every record ever made: who checked in, proved, reviewed, released, held, exported, and why",
    ),
    (
        "programs/",
        "the programs of every revision, byte for byte, and the setup sheet (job.toml) beside them",
    ),
    ("tags/", "the release tags as git keeps them: each names its release record and that record's SHA-256"),
    ("shop/", "every shop.toml there was: people, roles, keys, machines, policy, oldest first"),
    ("signers.txt", "whose key is whose, as ssh-keygen -Y verify reads it"),
)


def package_files(
    package: "AuditPackage", report: "AuditReport", lists: Sequence["ListReport"], script: bytes
) -> dict[str, bytes]:
    """Every file of the package by name, the manifest last."""
    files = {
        **package.files,
        "verify.py": script,
        "audit.json": (json.dumps(as_json(report), indent=2) + "\n").encode("ascii"),
        **{f"lists/{one.name}.csv": csv_bytes("audit", list_as_json(one)) for one in lists},
        "index.html": index_page(package, report, lists).encode("utf-8"),
    }
    lines = (f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in sorted(files.items()))
    files[MANIFEST] = "".join(lines).encode("utf-8")
    return files


def zip_bytes(files: Mapping[str, bytes], at: str) -> bytes:
    """The files as a ZIP file."""
    packed = io.BytesIO()
    made = parse_time(at)
    date = (max(made.year, 1980), made.month, made.day, made.hour, made.minute, made.second)
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in sorted(files.items()):
            archive.writestr(zipfile.ZipInfo(name, date), data, zipfile.ZIP_DEFLATED)
    return packed.getvalue()


def index_page(package: "AuditPackage", report: "AuditReport", lists: Sequence["ListReport"]) -> str:
    """The page to begin with: what is here, how to check it, what was found, what happened, what is missing."""
    title = f"Record of {package.shop}"
    body = "".join(
        (
            f"<h1>{text(title)}</h1>",
            (
                f"<p>As it stood on {text(moment(parse_time(package.at), zone(package.timezone)))}, "
                f"in the state {text(package.state)}.</p>"
            ),
            f'<p class="note">{text(TRACE)}</p>',
            "<h2>What is in this package</h2>",
            table("Files", ("file", "what"), ((f"<code>{text(a)}</code>", text(b)) for a, b in _WHAT)),
            _how(),
            _found(package, report, lists),
            "<h2>What happened</h2>",
            *_jobs(package),
        )
    )
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" '
        f'content="{_POLICY}"><meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{text(title)}</title><style>{style(package.paper)}</style></head><body><main>{body}</main></body></html>\n"
    )


def _how() -> str:
    steps = (
        (
            "Ask the shop for the SHA-256 of manifest.txt another way: by telephone, or on paper. Whoever changes this "
            "package and every sum in it cannot change what you were told."
        ),
        "Run: python verify.py --manifest FIGURE. It must end with 0 faults. It needs nothing of the shop's.",
        (
            "Without Python: sha256sum -c manifest.txt checks every file; each release record names the records it relied "
            "on with their SHA-256, each revision record its programs with theirs."
        ),
        (
            "A signature is checked by hand with: ssh-keygen -Y verify -f signers.txt -I INITIALS -n proof@proveout "
            "-s RECORD.toml.sig < RECORD.toml. signers.txt lists every key there ever was; on which days one counted "
            "stands in the files of shop/."
        ),
        (
            "What this cannot show is that nothing was left out of the shop's repository before it was made. For that ask "
            "for the repository itself (or a backup of it, which plain git restores) and the release tags in it."
        ),
    )
    return "<h2>How to check it</h2><ol>" + "".join(f"<li>{text(one)}</li>" for one in steps) + "</ol>"


def _found(package: "AuditPackage", report: "AuditReport", lists: Sequence["ListReport"]) -> str:
    rows = [
        (text(one.severity), text(one.problem), text(one.where), text(one.message)) for one in report.problems
    ]
    problems = (
        table("Problems", ("severity", "problem", "where", "what"), rows)
        if rows
        else "<p>The audit found no problem.</p>"
    )
    gaps = "".join(f"<li>{text(one)}</li>" for one in package.gaps)
    missing = f"<ul>{gaps}</ul>" if gaps else "<p>Nothing that was recorded is missing here.</p>"
    named = (
        (
            f'<a href="lists/{text(one.name)}.csv">{text(one.name)}</a>',
            text(counted(len(one.rows), "entry", "entries")),
        )
        for one in lists
    )
    return (
        f"<h2>What the audit found</h2>{problems}<h2>What is missing</h2>{missing}"
        f"<h2>Lists</h2>{table('Lists', ('list', 'entries'), named)}"
    )


def _jobs(package: "AuditPackage") -> list[str]:
    by_job: dict[str, list[Happened]] = {}
    for one in package.events:
        by_job.setdefault(one.job or "", []).append(one)
    tz = zone(package.timezone)
    parts = []
    for job, events in sorted(by_job.items()):
        rows = (
            (
                text(moment(one.at, tz)),
                text(one.event),
                text("/".join(part for part in (one.operation, one.revision) if part) or "-"),
                text(one.machine or "-"),
                text(one.by),
                text(said(one) or "-"),
                f'<a href="{text(quote("records/" + place_of(one.stored.path)))}">record</a>',
            )
            for one in events
        )
        title = f"Job {job}" if job else "The shop: machines, sticks, people"
        heads = ("at", "event", "of", "machine", "by", "what", "file")
        parts.append(f"<h3>{text(title)}</h3>{table(title, heads, rows)}")
    return parts


def written_json(written: "Written") -> dict[str, object]:
    """What was put down, under ``bundle``."""
    return {
        "bundle": {
            "file": written.file,
            "files": written.files,
            "sha256": written.sha256,
            "manifest_sha256": written.manifest,
            "missing": list(written.gaps),
        }
    }


def print_written(written: "Written", console: "Console") -> None:
    """The file, what is missing in it, and the figure to be told another way."""
    say(console, visible(f"written: {written.file} ({counted(written.files, 'file')})"))
    for gap in written.gaps:
        wrapped(console, f"missing in it: {visible(gap)}")
    say(console, f"SHA-256 of {MANIFEST} in it:", written.manifest)
    wrapped(console, "Tell the auditor this figure another way. Who has the file runs: python verify.py")


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """A package that was put down: where, how many files, the sums of the ZIP file and of its manifest, what is missing."""

    file: str
    files: int
    sha256: str
    manifest: str
    gaps: tuple[str, ...]


def written_as(file: str, packed: bytes, files: Mapping[str, bytes], gaps: tuple[str, ...]) -> Written:
    """What is said of a package."""
    sums = (hashlib.sha256(data).hexdigest() for data in (packed, files[MANIFEST]))
    return Written(file=file, files=len(files), sha256=next(sums), manifest=next(sums), gaps=gaps)
