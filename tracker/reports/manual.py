"""The manual: one page for each who meets the tool, shown by ``proveout explain NAME`` as it stands.

Every command on a page is run by the tests on the sample shop, and what it answers is held against what the page shows;
``python -m tests.manual`` writes the answers anew.
"""

from tracker.reports.manual_auditor import TEXT as AUDITOR
from tracker.reports.manual_it import TEXT as IT
from tracker.reports.manual_programmer import TEXT as PROGRAMMER
from tracker.reports.manual_quality import TEXT as QUALITY
from tracker.reports.manual_setup import TEXT as SETUP
from tracker.reports.page import Page

SORT = "page of the manual"
PAGES = {"programmer": PROGRAMMER, "setup": SETUP, "quality": QUALITY, "auditor": AUDITOR, "it": IT}
MANUAL: tuple[Page, ...] = tuple(Page(name, SORT, text) for name, text in PAGES.items())
