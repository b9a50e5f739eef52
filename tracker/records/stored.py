"""Records with the place they came from: what the store hands to the rules.

A `Ledger` is everything one decision may look at: the records of the tree in hand, those of other branches and tags,
the versions of shop.toml, and which commit descends from which. It is a value; policy reads it and nothing else.
"""

from collections.abc import Callable
from datetime import datetime

from tracker.frozen import dataclass
from tracker.records.events import AnyRecord, Before, RevisionRecord
from tracker.records.shop import Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored:
    """A record, its path, the SHA-256 of its bytes and the commit that brought it in.

    ``order`` is a place in a line of all commits in which every commit stands after its parents; ``in_hand`` says
    whether the tree decided about holds it (False: only on another branch or tag).
    """

    record: AnyRecord
    path: str
    sha256: str
    commit: str
    order: int
    in_hand: bool = True

    @property
    def name(self) -> str:
        """File name without ``.toml``: of a revision record its full name, ``r0003-7f3a09c2``."""
        return self.path.rsplit("/", 1)[-1].removesuffix(".toml")

    @property
    def before(self) -> Before | None:
        """Of a revision of before the record: where its text lies, and who is said to have written it."""
        return self.record.before if isinstance(self.record, RevisionRecord) else None

    @property
    def text_commit(self) -> str:
        """The commit that holds a revision's text: the one that brought the record, unless the text was there before."""
        return self.before.commit if self.before is not None else self.commit


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What was found beside a record: ``there`` a signature; the line of the ``key`` it holds by, or the ``fault`` it has."""

    there: bool = False
    key: str | None = None
    fault: str = ""


SealPair = tuple[str, str]
"""Ids of the blobs of a record and of its signature: what `Found` follows from."""
UNSEALED = Found()


def unsealed(_: Stored) -> Found:
    """No signature: what is said where nobody can look."""
    return UNSEALED


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopVersion:
    """shop.toml as one commit brought it in."""

    shop: Shop
    commit: str
    order: int
    committed: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Unreadable:
    """A record file that is damaged, or of a newer format: shown everywhere, refused by the gate."""

    path: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """All a decision may look at.

    ``records`` in ``order``; ``descends(a, b)``: commit a is b or comes after it; ``sealed``: the signature beside a record,
    looked at only when it is asked for.
    """

    shop: Shop
    records: tuple[Stored, ...] = ()
    shops: tuple[ShopVersion, ...] = ()
    unreadable: tuple[Unreadable, ...] = ()
    descends: Callable[[str, str], bool] = lambda later, earlier: later == earlier
    sealed: Callable[[Stored], Found] = unsealed

    def later(self, a: Stored, b: Stored) -> bool:
        """Whether ``a`` is later than ``b``: descended in history; times and then paths only break ties."""
        if a.commit != b.commit:
            if self.descends(a.commit, b.commit):
                return True
            if self.descends(b.commit, a.commit):
                return False
        return (a.record.entered, a.record.at, a.path) > (b.record.entered, b.record.at, b.path)
