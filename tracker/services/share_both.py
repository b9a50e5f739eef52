"""A file both sides changed: who changed what, when, how the two differ, and how to choose."""

from collections.abc import Sequence
from dataclasses import dataclass

from tracker.errors import BadCall
from tracker.records.places import SHOP, is_below_records
from tracker.services.comparing_files import PlainFile, compare_files
from tracker.services.ports_share import Choice, Entries, LastEdit, SharedRepository


@dataclass(frozen=True, slots=True, kw_only=True)
class BothChanged:
    """One such file; ``ours`` and ``theirs`` None where that side took it away before the two parted.

    ``kinds``: of change from the text here to the text there; None where it is no program, or one side has none.
    ``chosen``: the side a person decided for.
    """

    path: str
    ours: LastEdit | None
    theirs: LastEdit | None
    gone: str | None
    kinds: tuple[str, ...] | None
    chosen: str | None
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sides:
    """The two commits to be brought together, with what they hold."""

    ours: str
    theirs: str
    here: Entries
    there: Entries


def describe(
    shared: SharedRepository, sides: Sides, paths: Sequence[str], chosen: Sequence[Choice]
) -> tuple[BothChanged, ...]:
    """Every one of ``paths``, in order."""
    by_path = {one.path: one for one in chosen}
    return tuple(_one(shared, sides, path, by_path.get(path)) for path in paths)


def _one(shared: SharedRepository, sides: Sides, path: str, chosen: Choice | None) -> BothChanged:
    gone = "here" if path not in sides.here else "there" if path not in sides.there else None
    return BothChanged(
        path=path,
        ours=shared.last_edit(sides.ours, sides.theirs, path),
        theirs=shared.last_edit(sides.theirs, sides.ours, path),
        gone=gone,
        kinds=_kinds(shared, sides, path) if gone is None else None,
        chosen=chosen.side if chosen else None,
        how=_how(path),
    )


def _how(path: str) -> str:
    if is_below_records(path):
        return (
            "a record is never chosen away: what the shared repository has stays; take a fresh clone of it, copy the "
            "records over that only this one has, and record this one again there (a release: it gets the next number)"
        )
    return f"proveout share --take ours|theirs {_quoted(path)} --by INITIALS"


def _kinds(shared: SharedRepository, sides: Sides, path: str) -> tuple[str, ...] | None:
    if path.endswith(".toml") or path.rpartition("/")[2].startswith("."):
        return None
    old, new = shared.read(sides.ours, path), shared.read(sides.theirs, path)
    if old is None or new is None:
        return None
    return compare_files(PlainFile(name=path, data=old), PlainFile(name=path, data=new)).kinds


def still_valid(choices: Sequence[Choice], sides: Sides, both: Sequence[str]) -> tuple[Choice, ...]:
    """The choices made for exactly these two edits."""
    return tuple(
        one
        for one in choices
        if one.path in both
        and (one.ours, one.theirs) == (sides.here.get(one.path), sides.there.get(one.path))
    )


def chosen_now(
    side: str | None, files: Sequence[str], sides: Sides, both: Sequence[str], by: str
) -> tuple[Choice, ...]:
    """The choices of this call.

    Raises BadCall (``nothing-to-choose``) for a file not both sides changed, and for a record.
    """
    found: list[Choice] = []
    for name in files:
        path = name.replace("\\", "/").removeprefix("./")
        if path not in both or is_below_records(path):
            known = (
                ", ".join(one for one in both if not is_below_records(one)) or "there is no file to choose"
            )
            what = (
                "records are only ever added; none is chosen away"
                if path in both
                else "not both sides changed this file"
            )
            raise BadCall("nothing-to-choose", what, where=name, fix=f"files to choose: {known}")
        found.append(
            Choice(
                path=path,
                side="ours" if side == "ours" else "theirs",
                ours=sides.here.get(path),
                theirs=sides.there.get(path),
                by=by,
            )
        )
    return tuple(found)


def action_for(paths: Sequence[str]) -> str:
    """What a person must be allowed to do to choose among these."""
    return "shop" if SHOP in paths else "checkin"


def _quoted(path: str) -> str:
    return f'"{path}"' if " " in path else path
