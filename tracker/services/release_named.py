"""A release as a person names it, ``4502@1``, and its records."""

import re
from dataclasses import dataclass

from tracker.errors import BadCall
from tracker.policy.find import same_name
from tracker.records.events import ReleaseRecord
from tracker.records.stored import Ledger, Stored

_RELEASE = re.compile(r"(?P<job>[^/@\s]+)@(?P<number>\d+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseNamed:
    """``4502@1``: a release of a job."""

    job: str
    number: int


def release_named(text: str) -> ReleaseNamed | None:
    """The release ``JOB@N`` names; None where ``text`` names something else (a revision has an r)."""
    found = _RELEASE.fullmatch(text.strip())
    return ReleaseNamed(job=found["job"], number=int(found["number"])) if found else None


def release_records(ledger: Ledger, named: ReleaseNamed) -> list[Stored]:
    """Every record of that release, on whatever branch; raises BadCall (``unknown-release``)."""
    of_job = [
        stored
        for stored in ledger.records
        if isinstance(stored.record, ReleaseRecord) and same_name(stored.record.job, named.job)
    ]
    found = [stored for stored in of_job if _number(stored) == named.number]
    if not found:
        numbers = sorted({_number(stored) for stored in of_job})
        known = ", ".join(f"{named.job}@{number}" for number in numbers)
        raise BadCall(
            "unknown-release",
            f"there is no release {named.number} of {named.job}",
            fix=f"known: {known}"
            if known
            else f"{named.job} was never released: proveout history {named.job} shows what was",
        )
    return found


def _number(stored: Stored) -> int:
    return stored.record.number if isinstance(stored.record, ReleaseRecord) else 0
