"""How people name an operation or a revision: ``4471``, ``4471/op10``, ``4471/op10@r4``, ``4471/op10@r5-7f3a``.

``op 10`` and ``OP10`` mean ``op10``; the job alone is enough where it has one operation. ``4471@4`` is a release
(`tracker.services.lift`), never a revision.
"""

import re

from tracker.errors import BadCall
from tracker.frozen import dataclass

_FORM = re.compile(
    r"(?P<job>[^/@\s]+)(?:/(?P<op>[^/@]+))?(?:@(?:(?P<rev>[rR]?\d+)(?:-(?P<digits>[0-9a-fA-F]{1,8}))?))?"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """What a person named. ``revision`` is the number; ``digits`` the opening digits of the record's hash."""

    job: str
    operation: str | None = None
    revision: int | None = None
    digits: str | None = None

    def __str__(self) -> str:
        """The usual way to write it."""
        text = self.job + (f"/{self.operation}" if self.operation else "")
        if self.revision is not None:
            text += f"@r{self.revision}" + (f"-{self.digits}" if self.digits else "")
        return text


def parse_named(text: str) -> Named:
    """Read ``JOB[/OP][@rN[-digits]]``; raises BadCall (``bad-name``)."""
    found = _FORM.fullmatch(text.strip())
    if found is None:
        raise BadCall(
            "bad-name",
            f"{text!r} does not name a job, operation or revision",
            fix="write it like 4471, 4471/op10 or 4471/op10@r4",
        )
    operation = found["op"]
    if found["rev"] and found["rev"].isdigit() and not operation and not found["digits"]:
        number = int(found["rev"])
        raise BadCall(
            "bad-name",
            f"{text.strip()} is release {number} of {found['job']}, and a revision is asked here",
            fix=f"a revision is written {found['job']}@r{number}",
        )
    return Named(
        job=found["job"],
        operation=re.sub(r"\s+", "", operation).lower() if operation else None,
        revision=int(found["rev"].lstrip("rR")) if found["rev"] else None,
        digits=found["digits"].lower() if found["digits"] else None,
    )
