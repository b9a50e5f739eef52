"""``report --shop``: every job with its operations, machines and standing, what is due next, and the last events."""

from collections.abc import Iterator
from datetime import date, datetime

from tracker.errors import BadCall
from tracker.frozen import dataclass
from tracker.policy.deviations import Deviation
from tracker.policy.find import same_name
from tracker.records.job import Job
from tracker.services.desk import Desk
from tracker.services.history import Happened, history
from tracker.services.report_words import title_of
from tracker.services.status import status
from tracker.services.status_look import StatusRow

MOST_EVENTS = 8
"""Events shown of each job, the latest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """Something that comes next: of which operation on which machine, what, and by when where there is a day."""

    name: str
    machine: str | None
    what: str
    day: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class JobShown:
    """A job of the shop: its rows of the board and its latest events, of which there are ``events`` in all."""

    job: str
    title: str
    rows: tuple[StatusRow, ...]
    timeline: tuple[Happened, ...]
    events: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopReport:
    """The whole shop on a day. ``due``: what has to be done before something may run, then what lapses, soonest first."""

    shop: str
    jobs: tuple[JobShown, ...]
    due: tuple[Due, ...]
    deviations: tuple[Deviation, ...]
    problems: tuple[str, ...]
    timezone: str
    paper: str
    at: datetime
    clock_set: bool


def shop_report(desk: Desk) -> ShopReport:
    """The report of the shop; raises what reading the repository raises."""
    board = status(desk)
    events = history(desk, None).events
    titles = dict(_titles(desk))
    names = list(dict.fromkeys(row.job for row in board.rows))
    shop = desk.repo.ledger().shop
    return ShopReport(
        shop=shop.name,
        jobs=tuple(_job(name, titles.get(name, ""), board.rows, events) for name in names),
        due=tuple(_due(board.rows)),
        deviations=board.deviations,
        problems=(
            *board.problems,
            *board.unreadable,
            *(f"edited, not checked in: {one}" for one in board.edited),
        ),
        timezone=board.timezone,
        paper=shop.paper,
        at=board.now,
        clock_set=desk.clock.is_set,
    )


def _titles(desk: Desk) -> Iterator[tuple[str, str]]:
    tree = desk.repo.tree()
    for path in tree.job_paths().values():
        try:
            job: Job = tree.job(path)
        except BadCall:
            continue
        yield job.number, title_of(job)


def _job(name: str, title: str, rows: tuple[StatusRow, ...], events: tuple[Happened, ...]) -> JobShown:
    own = [one for one in events if same_name(one.job, name)]
    return JobShown(
        job=name,
        title=title,
        rows=tuple(row for row in rows if row.job == name),
        timeline=tuple(own[-MOST_EVENTS:]),
        events=len(own),
    )


def _due(rows: tuple[StatusRow, ...]) -> list[Due]:
    """What stands in the way first, in the order of the board; then lapses by their day."""
    found = [
        Due(name=f"{row.job}/{row.operation}", machine=row.machine, what=row.next)
        for row in rows
        if row.next and not row.may_run
    ]
    lapsing = [
        Due(
            name=f"{row.job}/{row.operation}",
            machine=row.machine,
            what="lapses unless it is run or proved there before",
            day=row.standing.lapses,
        )
        for row in rows
        if row.standing is not None and row.standing.usable and row.standing.lapses is not None
    ]
    return found + sorted(lapsing, key=lambda one: (one.day or date.max, one.name))
