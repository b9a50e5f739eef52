"""What lies on a stick, sorted by machine, and which of it is ours.

A file belongs to the machine whose folder it lies in; where the folder named is itself a machine's (a control's own
memory card), everything belongs to that one. Ours is what an export record names by SHA-256; a manifest alone makes
nothing ours.
"""

from collections.abc import Iterable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass, field
from datetime import date, datetime

from tracker.errors import BadCall, CouldNot, Refused
from tracker.policy.days import local_date, words, zone_of
from tracker.records.problems import nearest_fix
from tracker.records.shop import Machine, Shop, Stick
from tracker.services.ports_stick import (
    MANIFEST_NAME,
    SUBFOLDERS,
    Medium,
    Purpose,
    Seen,
    Shaper,
)


@dataclass(slots=True, kw_only=True)
class Contents:
    """What was seen on a stick; each file is hashed once, however often it is asked for.

    ``coming``: digests that are being made beside (`tracker.services.hashed_beside`).
    """

    medium: Medium
    shaper: Shaper
    seen: Sequence[Seen]
    hashed: dict[str, str] = field(default_factory=dict, repr=False)
    places: dict[str, Seen] = field(default_factory=dict, repr=False)
    coming: dict[str, Future[str]] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, medium: Medium, shaper: Shaper) -> "Contents":
        """Look at a stick; raises CouldNot (``medium-gone``)."""
        seen = medium.look()
        places: dict[str, Seen] = {}
        for one in seen:
            places.setdefault(shaper.folded(one.path), one)
        places.update((one.path, one) for one in seen)
        return cls(medium=medium, shaper=shaper, seen=seen, places=places)

    def digest(self, path: str) -> str:
        """SHA-256 of a file; raises CouldNot (``medium-gone``, ``unreadable-file``)."""
        if path not in self.hashed:
            coming = self.coming.get(path)
            self.hashed[path] = self.medium.digest(path) if coming is None else coming.result()
        return self.hashed[path]

    def digest_if_readable(self, path: str) -> str | None:
        """The same, None for a file that cannot be read; a stick that is gone still ends it."""
        try:
            return self.digest(path)
        except CouldNot as fault:
            if fault.name != "unreadable-file":
                raise
            return None

    def files(self, folder: str = "") -> Sequence[Seen]:
        """Files in a folder and below it."""
        return [
            one
            for one in self.seen
            if one.kind == "file" and (not folder or one.path.startswith(folder + "/"))
        ]

    def at(self, path: str) -> Seen | None:
        """What already stands where ``path`` would go, in whatever letters."""
        return self.places.get(path) or self.places.get(self.shaper.folded(path))

    def folder_of(self, machine: Machine, purpose: Purpose) -> str:
        """Where a machine's files go; a folder that is there in other letters is used as it is spelled."""
        parts = machine.folder_name.split("/")
        if purpose in SUBFOLDERS:
            parts.append(SUBFOLDERS[purpose])
        spelled = ""
        for part in parts:
            wanted = f"{spelled}/{part}" if spelled else part
            there = self.at(wanted)
            spelled = there.path if there else wanted
        return spelled

    def is_manifest(self, one: Seen) -> bool:
        """Whether a file has the name of our list."""
        return one.kind == "file" and self.shaper.folded(one.name) == self.shaper.folded(MANIFEST_NAME)

    def leftovers(self) -> Sequence[Seen]:
        """What exports that were cut off left behind."""
        return [one for one in self.seen if one.kind == "file" and self.shaper.leftover(one.name)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Home:
    """The folder of a machine on a stick: ``path`` from the stick's own folder, ``""`` if it is that folder."""

    machine: Machine
    path: str

    def inside(self, path: str) -> str | None:
        """``path`` as seen from this folder, or None if it lies elsewhere."""
        if not self.path:
            return path
        return path[len(self.path) + 1 :] if path.startswith(self.path + "/") else None


def homes(shop: Shop, contents: Contents) -> tuple[Home, ...]:
    """The machines' folders on a stick; the deepest first, so that the first one that holds a file is its home.

    A folder that has the name of a machine's is that one by itself where it holds none, or what only a machine's folder does.
    """
    folded = contents.shaper.folded
    label = folded(contents.medium.label)
    last = [m for m in shop.machines if folded(m.folder_name.rsplit("/", 1)[-1]) == label]
    own = {folded(one) for one in (MANIFEST_NAME, *SUBFOLDERS.values())}
    if last and any(folded(one.path) in own for one in contents.seen):
        return (Home(machine=last[0], path=""),)
    found: list[Home] = []
    for machine in shop.machines:
        wanted = folded(machine.folder_name)
        there = [one.path for one in contents.seen if one.kind == "folder" and folded(one.path) == wanted]
        found += [Home(machine=machine, path=path) for path in there]
    if not found:
        found = [Home(machine=machine, path="") for machine in last[:1]]
    return tuple(sorted(found, key=lambda home: -len(home.path)))


def alone(found: Sequence[Home]) -> str | None:
    """The machine's folder that is looked at by itself, so that nothing beside it was seen; None for a stick."""
    return next((home.machine.folder_name for home in found if not home.path), None)


def home_of(path: str, found: Iterable[Home]) -> Home | None:
    """The machine's folder a file lies in."""
    return next((home for home in found if home.inside(path) is not None), None)


def stick_name(shop: Shop, medium: Medium, stated: str | None, listed: str | None = None) -> str:
    """The name the stick goes by in records, one of shop.toml as it is spelled there, whatever its letters.

    What a person says comes first, then the stick of shop.toml whose label the medium carries, then what a list of ours
    on it says (``listed``; a list may have been copied from another stick), then the label itself.

    Raises BadCall (``stick-name``) where nothing gives one.
    """
    labelled = None if stated else shop.stick_labelled(medium.label)
    if labelled is not None:
        return labelled.name
    name = written(stated or listed or medium.label).strip()
    if not name:
        raise BadCall("stick-name", "what is this stick called?", fix="say it with --stick NAME")
    known = shop.stick(name)
    return name if known is None else known.name


def known_stick(shop: Shop, name: str) -> Stick:
    """The stick of shop.toml with this name; raises BadCall (``unknown-stick``)."""
    found = shop.stick(name)
    if found is None:
        known = [one.name for one in shop.sticks]
        raise BadCall(
            "unknown-stick",
            f"there is no stick {name!r} in shop.toml, so where it is cannot be told",
            fix=f"name its folder, --to DIR; or: {nearest_fix(name, known, 'sticks')}",
        )
    return found


def owner_of(shop: Shop, stick: str, now: datetime) -> str | None:
    """Initials of whose stick this is; None where nobody is named, or who is named has left."""
    known, today = shop.stick(stick), local_date(now, zone_of(shop))
    owner = shop.person(known.owner) if known is not None else None
    return None if owner is None or (owner.left is not None and owner.left < today) else owner.initials


def lost_since(shop: Shop, stick: str, now: datetime) -> date | None:
    """The day a stick was given up by shop.toml; None where it is not, or not yet."""
    known, today = shop.stick(stick), local_date(now, zone_of(shop))
    return None if known is None or known.lost is None or known.lost > today else known.lost


def found_again(shop: Shop, stick: str, now: datetime) -> tuple[str, ...]:
    """What is said of a stick that is here though it was given up."""
    day = lost_since(shop, stick, now)
    if day is None:
        return ()
    return (
        f"{stick} was given up as lost on {words(day)} by shop.toml, and is here: take lost out of its table",
    )


def not_lost(shop: Shop, stick: str, now: datetime) -> None:
    """Raise Refused (``stick-lost``) for a stick that was given up: nobody would call in what went on it."""
    day = lost_since(shop, stick, now)
    if day is not None:
        raise Refused(
            "stick-lost",
            f"{stick} was given up as lost on {words(day)} by shop.toml",
            fix=f"it was found? Take lost out of its table in shop.toml and check that in, then proveout collect it: what lies on "
            f"{stick} is as old as that",
        )


def need_owner(shop: Shop, stick: str, now: datetime) -> None:
    """Raise Refused (``stick-without-owner``) where the policy asks for an owner and this stick has none."""
    if shop.policy.sticks != "owned" or owner_of(shop, stick, now) is not None:
        return
    gone = "its owner has left" if shop.stick(stick) is not None else "it is not in shop.toml"
    raise Refused(
        "stick-without-owner",
        f"{stick} has no owner ({gone}), and this shop lets programs on owned media only",
        fix="name one in shop.toml below [[sticks]] (name and owner), or take a stick that is there: --stick NAME",
    )


def owner_note(shop: Shop, stick: str) -> str | None:
    """What is said where a shop lists its sticks and this one is not among them, so that nobody owns it."""
    if not shop.sticks or any(known.name.casefold() == stick.casefold() for known in shop.sticks):
        return None
    return f"{stick} is no stick of shop.toml: nobody is named as its owner"


def written(path: str) -> str:
    r"""A name as a record or a screen holds it: what is no text, or would steer a terminal, as ``\x..``."""
    text = path.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")
    return "".join(
        letter if letter.isprintable() else letter.encode("unicode_escape").decode("ascii") for letter in text
    )
