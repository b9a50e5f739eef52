"""``init``: make a shop of a folder of programs.

It writes ``shop.toml``, an example to copy a job.toml from, and ``.gitattributes``; what is there already is kept as
it is, byte for byte, and no program is moved or changed. The first commit holds these files only: the programs are
checked in by ``checkin``, job by job, when somebody has looked at them.

A shop.toml that lies there and was never committed is taken as it is (a shop set up on another PC); one that is
committed already is a shop, and the answer is no.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from tracker.clock import Clock
from tracker.errors import BadCall, Refused
from tracker.records import value_rules as rules
from tracker.records.ids import is_id
from tracker.records.places import SHOP, is_below_records
from tracker.records.shop import Person, Shop
from tracker.records.template import job_text, shop_text
from tracker.services.ports import NewFile, Repository
from tracker.services.push_files import alters, attribute_rows

ATTRIBUTES = ".gitattributes"
EXAMPLE = "jobs/job-example.toml"
_ALL_ROLES = ("programmer", "setup", "quality")
# endings NC programs are saved with (common practice, no source); what the folder holds beside them is added
ENDINGS = ("nc", "cnc", "tap", "eia", "min", "mpf", "spf", "ngc", "ptp", "prg", "h", "i")
NUMBERED = re.compile(r"[Oo]?\d{3,8}")
"""A file called like a program number."""
_TEXT = "# bytes stay as they are, on every PC: no line end is changed, ever\n* -text\n"
_PROGRAMS = "# programs: two edits of one are never merged by themselves; differences shown as NC text\n"
_NO_PROGRAM = frozenset(
    {"toml", "md", "txt", "pdf", "csv", "png", "jpg", "jpeg", "zip", "bak", "xls", "xlsx", "doc"}
)


class Ground(Protocol):
    """The folder a shop is made in."""

    @property
    def root(self) -> str:
        """Its path, for people's eyes."""

    def files(self) -> Sequence[str]:
        """Every file in it, without git's own."""

    def shop(self) -> Shop | None:
        """The shop.toml that lies there, or None; raises BadCall when it is wrong."""

    def person(self) -> tuple[str, str] | None:
        """Name and e-mail address git knows the person by, or None."""

    def existing(self) -> Repository | None:
        """The repository this folder is already, or None.

        Raises Refused (``inside-repository``) in a folder of somebody else's repository.
        """

    def repository(self) -> Repository:
        """The same, made where there is none yet; nothing is committed by that."""

    def write_attributes(self, text: str) -> None:
        """Add these lines to the attributes only this clone has, if they are not there."""

    def take_back(self, texts: Mapping[str, str]) -> None:
        """After a failure: take these files away again as long as they hold this, and what was made for them.

        Folders go where nothing else is in them, a repository where it is new and holds no commit. Raises nothing.
        """


@dataclass(frozen=True, slots=True, kw_only=True)
class InitReport:
    """What was made: files ``written`` and ``kept``; ``others`` counts the files left as they are."""

    root: str
    written: tuple[str, ...]
    kept: tuple[str, ...]
    others: int
    people: tuple[str, ...]
    commit: str
    notes: tuple[str, ...] = ()


def init(
    ground: Ground,
    clock: Clock,
    *,
    name: str,
    alone: bool = False,
    initials: str | None = None,
    timezone: str = "UTC",
) -> InitReport:
    """Make the shop.

    Args:
        ground: the folder.
        clock: the time of the first commit.
        name: of the shop.
        alone: one person does everything; he needs a name and an e-mail address in git's settings.
        initials: of that person; else made from his name.
        timezone: of the shop, like Europe/London.

    Raises:
        BadCall: ``no-name``, ``who``, ``bad-initials``, or a shop.toml that is wrong.
        Refused: ``shop-exists``, ``inside-repository``, ``detached-head``.
    """
    name = " ".join(name.split())
    if not name:
        raise BadCall("no-name", "the shop has no name", fix='say it with --name "Name of the shop"')
    wrong = rules.timezone(timezone)
    if wrong is not None:
        raise BadCall("bad-timezone", f"--timezone: {wrong}", fix="write it like Europe/London")
    person = _person(ground, alone=alone, initials=initials)
    _can_be_one(ground.existing())
    before = ground.files()
    adopted = ground.shop()
    if adopted is not None:
        _fits(adopted, name, alone=alone)
    texts = {
        SHOP: shop_text(name=name, timezone=timezone, alone=person if alone else None),
        EXAMPLE: job_text(number="4471"),
        ATTRIBUTES: attributes_text(before),
    }
    new = {path: text for path, text in texts.items() if path not in before}
    try:
        repo = ground.repository()
        ground.write_attributes(texts[ATTRIBUTES])  # before the commit: a shop that is in the record is whole
        commit = repo.commit(
            [NewFile(path=path, data=text.encode("utf-8")) for path, text in new.items()],
            from_work_tree=((SHOP,) if adopted is not None else ()) + _left_over(repo, texts, before),
            message=f"shop {name}",
            author=person,
            at=clock.now(),
        )
    except BaseException:
        ground.take_back(new)
        raise
    return InitReport(
        root=ground.root,
        written=tuple(new),
        kept=tuple(path for path in texts if path not in new),
        others=sum(1 for path in before if path not in texts),
        people=tuple(p.initials for p in adopted.people) if adopted else (person.initials,) if alone else (),
        commit=commit,
        notes=_notes(repo, before),
    )


def _left_over(repo: Repository, texts: Mapping[str, str], before: Sequence[str]) -> tuple[str, ...]:
    """What an ``init`` that was killed had written already: it belongs into the first commit like the rest."""
    work = repo.work_tree()
    there = [path for path in texts if path in before and path != SHOP]
    return tuple(path for path in there if work.read(path) == texts[path].encode("utf-8"))


def attributes_text(files: Iterable[str]) -> str:
    """The lines of .gitattributes for a folder that holds these files."""
    endings = dict.fromkeys(ENDINGS)
    for path in files:
        name = path.rpartition("/")[2]
        stem, _, ending = name.rpartition(".")
        if NUMBERED.fullmatch(stem) and ending.lower() not in _NO_PROGRAM and ending.isalnum():
            endings.setdefault(ending.lower())
    patterns = [f"*.{_any_case(ending)}" for ending in endings]
    patterns += [f"[Oo]{'[0-9]' * digits}" for digits in (4, 5)]
    return _TEXT + _PROGRAMS + "".join(f"{pattern} -merge diff=nc\n" for pattern in patterns)


def initials_of(name: str) -> str:
    """``np`` for Nora Pencil; ``me`` where a name gives none."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode("ascii")
    found = "".join(word[0] for word in re.findall(r"[A-Za-z0-9]+", plain)).lower()[:4]
    return found if is_id(found) else "me"


def _any_case(ending: str) -> str:
    """``[nN][cC]``: git compares patterns to the letter."""
    return "".join(f"[{c.lower()}{c.upper()}]" if c.isalpha() else c for c in ending)


def _person(ground: Ground, *, alone: bool, initials: str | None) -> Person:
    """Who makes the shop; without ``alone`` he stands in the commit only, so an unknown one will do."""
    known = ground.person()
    if known is None and alone:
        raise BadCall(
            "who",
            "git does not know your name and e-mail address, and --alone writes them into shop.toml",
            fix='git config --global user.name "Your Name" and git config --global user.email you@shop.example',
        )
    name, email = known or ("init", "init@localhost")
    short = initials or initials_of(name)
    if not is_id(short):
        raise BadCall("bad-initials", f"{short!r} cannot be initials", fix="use letters and digits, like np")
    return Person(initials=short, name=name, email=email, roles=_ALL_ROLES if alone else ())


def _can_be_one(repo: Repository | None) -> None:
    """Raise Refused for a repository that is a shop already, or stands on no branch."""
    if repo is None:
        return
    if repo.tree().read(SHOP) is not None:
        raise Refused(
            "shop-exists",
            "this is a shop already: its shop.toml is in the record",
            where=SHOP,
            fix="edit shop.toml to change it; proveout doctor looks at the set-up",
        )
    if repo.head().branch is None:
        raise Refused(
            "detached-head",
            "this folder stands on an old state, not on a branch",
            fix="go back to the branch with: git switch main",
        )


def _fits(shop: Shop, name: str, *, alone: bool) -> None:
    """A shop.toml that was there before must say what the call says."""
    if shop.name != name:
        raise Refused(
            "shop-exists",
            f"there is a shop.toml here already, of the shop {shop.name!r}",
            where=SHOP,
            fix=f'say --name "{shop.name}" to keep it, or move it away',
        )
    if alone and shop.policy.two_person:
        raise Refused(
            "shop-exists",
            "there is a shop.toml here already, and it asks for two persons",
            where=SHOP,
            fix="leave --alone out, or set two_person = false in it",
        )


def _notes(repo: Repository, before: Sequence[str]) -> tuple[str, ...]:
    notes: list[str] = []
    if ATTRIBUTES in before:
        notes += _of_attributes(repo.work_tree().read(ATTRIBUTES) or b"")
    if any(is_below_records(path) for path in before):
        notes.append("there are files below records/ already; proveout audit says what they are")
    return tuple(notes)


def _of_attributes(held: bytes) -> Iterator[str]:
    """What a .gitattributes that was there before us still has to say, or to leave."""
    rows = attribute_rows(held)
    altering = [f"`{' '.join(row)}`" for row in rows if alters(row)]
    if altering:
        yield (
            f".gitattributes was kept; by its rules git changes bytes of programs on other PCs: take out {', '.join(altering)}"
        )
    if ["*", "-text"] not in rows:
        yield ".gitattributes was kept; so that git leaves bytes alone on every PC, add the line: * -text"
