"""Records are only ever added, commit by commit; merges make nothing; shop.toml changes in commits of its own. Pure.

=================== ==================================================================================================
rule                what it holds
=================== ==================================================================================================
record-changed      no record is changed after it was made, also when that is put back later
record-deleted      no record is taken away, renamed or let go by a merge
record-in-merge     a record is made by a commit of its own, never by a merge
record-misplaced    only records and signatures lie in the folders for records, in their one spelling, as plain files
merged-text         a program in a merge is what some parent has, to the last byte
merged-shop         shop.toml in a merge is what some parent has
shop-with-other     a commit that changes shop.toml holds nothing else but the record of it
time-goes-back      a commit does not say it is older than the one it follows
=================== ==================================================================================================
"""

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta

from tracker.patterns import lazy_pattern
from tracker.policy.push import Breach, NewCommit, Touch
from tracker.records.places import RECORD_SUFFIXES, SHOP, is_below_records

CLOCKS = timedelta(minutes=10)
"""Clocks of two PCs may differ that much without anybody having set one."""
_PLACE = lazy_pattern(r"(?:jobs/[^/]+/)?records/(?:[^/]+/)?[^/]+")
_PLAIN = "100644"
# people's own files, which a merge may put together; everything else may be a program
_OWN_FILES = (".toml", ".md", ".txt", ".csv", ".gitattributes", ".gitignore")


def appended(commit: NewCommit) -> Iterator[Breach]:
    """What of a commit touches records otherwise than by adding some."""
    for touch in dict.fromkeys(touch for one in commit.touched for touch in one):
        if is_below_records(touch.path) and touch.status != "A":
            yield _let_go(commit, touch)
    for touch in commit.made_here:
        if is_below_records(touch.path) and touch.status == "A":
            yield from _placed(commit, touch)


def _let_go(commit: NewCommit, touch: Touch) -> Breach:
    gone = touch.status == "D"
    return Breach(
        rule="record-deleted" if gone else "record-changed",
        where=touch.path,
        words=f"commit {commit.short} {'takes the record away' if gone else 'changes the record'}; records are only ever added",
        clears="make the work again on the state before that commit; a mistake is answered by proveout strike",
    )


def _placed(commit: NewCommit, touch: Touch) -> Iterator[Breach]:
    if len(commit.parents) > 1:
        words = f"merge {commit.short} brings a record none of its parents has"
        yield Breach(rule="record-in-merge", where=touch.path, words=words)
    folders = touch.path.split("/")
    spelled = "records" in (folders[0], folders[2] if len(folders) > 2 and folders[0] == "jobs" else "")
    if not (spelled and _PLACE.fullmatch(touch.path) and touch.path.endswith(RECORD_SUFFIXES)):
        words = f"commit {commit.short} puts what is no record, or under no name of one, into a folder for records"
        yield Breach(rule="record-misplaced", where=touch.path, words=words)
    elif touch.mode != _PLAIN:
        words = f"commit {commit.short} has a record that is no plain file (mode {touch.mode})"
        yield Breach(rule="record-misplaced", where=touch.path, words=words)


def merged(commit: NewCommit) -> Iterator[Breach]:
    """What a merge made that none of its parents has."""
    if len(commit.parents) < 2:
        return
    for touch in commit.made_here:
        if touch.path == SHOP:
            words = f"merge {commit.short} makes a shop.toml that none of its parents has"
            clears = "merge again and take one of the two: git checkout --ours shop.toml; then proveout checkin shop.toml"
            yield Breach(rule="merged-shop", where=touch.path, words=words, clears=clears)
        elif not is_below_records(touch.path) and may_be_program(touch.path):
            words = f"merge {commit.short} makes a text of this program that none of its parents has"
            clears = "merge again and take one of the two texts whole; an edit is checked in afterwards"
            yield Breach(rule="merged-text", where=touch.path, words=words, clears=clears)


def may_be_program(path: str) -> bool:
    """Whether the file may be a program: any but those people keep for themselves."""
    low = path.lower()
    return not low.endswith(_OWN_FILES[:2] if low.startswith(("jobs/", "common/")) else _OWN_FILES)


def changes_shop(commit: NewCommit) -> bool:
    """Whether a commit itself changes shop.toml."""
    return any(touch.path == SHOP for touch in commit.made_here)


def founds_shop(commit: NewCommit) -> bool:
    """Whether a commit by itself brings a shop.toml to a state that had none."""
    return len(commit.parents) < 2 and any(
        touch.path == SHOP and touch.status == "A" for touch in commit.made_here
    )


def shop_alone(commit: NewCommit) -> Iterator[Breach]:
    """A commit that changes shop.toml and more than that and its record."""
    if len(commit.parents) != 1 or not changes_shop(commit):
        return
    others = [touch.path for touch in commit.made_here if touch.path != SHOP]
    records = [path for path in others if path.startswith("records/") and "-shop-" in path]
    if len(records) < len(others):
        odd = next(path for path in others if path not in records)
        words = f"commit {commit.short} changes it together with {odd}; people, keys and policy change by themselves"
        clears = 'proveout checkin shop.toml -m "why" makes such a commit'
        yield Breach(rule="shop-with-other", where=SHOP, words=words, clears=clears)


def times(commit: NewCommit, committed: Mapping[str, datetime]) -> Iterator[Breach]:
    """A commit that says it is older than one it follows; ``committed``: the dates of commits known."""
    late = [committed[parent] for parent in commit.parents if parent in committed]
    if late and commit.committed + CLOCKS < max(late):
        words = (
            f"says {commit.committed:%Y-%m-%d %H:%M} UTC, and follows one of {max(late):%Y-%m-%d %H:%M} UTC"
        )
        yield Breach(rule="time-goes-back", where=f"commit {commit.short}", words=words)
