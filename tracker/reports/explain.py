"""All pages of ``explain`` under one roof."""

import difflib

from tracker.errors import BadCall
from tracker.nc import kinds
from tracker.reports.manual import MANUAL
from tracker.reports.page import Page
from tracker.reports.pages_copies import COPIES
from tracker.reports.pages_errors import ERRORS
from tracker.reports.pages_new import TAKING_IN
from tracker.reports.pages_rules import rule_pages
from tracker.reports.pages_server import SERVER
from tracker.reports.pages_share import SHARING
from tracker.reports.pages_sheet import SHEET
from tracker.reports.pages_signatures import SIGNATURES
from tracker.reports.pages_stick import STICK
from tracker.reports.pages_store import PROBLEMS, SETUP
from tracker.reports.pages_words import STANDINGS, VERDICTS, WORDS


def all_pages() -> dict[str, Page]:
    """Name -> page; a name that is two things at once is kept apart by a longer name in its table."""
    changes = (Page(name, "kind", sentence) for name, sentence in kinds.SENTENCES.items())
    return {
        page.name: page
        for page in (
            *STANDINGS,
            *WORDS,
            *changes,
            *VERDICTS,
            *rule_pages(),
            *PROBLEMS,
            *SETUP,
            *SHEET,
            *SERVER,
            *STICK,
            *SIGNATURES,
            *SHARING,
            *TAKING_IN,
            *ERRORS,
            *COPIES,
            *MANUAL,
        )
    }


def page(name: str) -> Page:
    """The page of a name; raises BadCall (``unknown-page``) with the nearest ones."""
    pages = all_pages()
    wanted = name.strip().lower()
    if wanted not in pages:
        near = difflib.get_close_matches(wanted, pages, n=3)
        raise BadCall(
            "unknown-page",
            f"there is no page {name!r}",
            fix=f"perhaps {', '.join(near)}" if near else "proveout explain lists all pages",
        )
    return pages[wanted]
