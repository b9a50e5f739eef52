"""A whole push judged: references, history commit by commit, every new record, files, releases. Fails closed.

Authority for all of it is shop.toml as the main branch has it before the push. Into a repository that is still empty
the whole history comes at once; there every commit is judged by the shop.toml it follows.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime

from tracker.digest import sha256_of
from tracker.errors import ProveoutError
from tracker.frozen import dataclass
from tracker.policy.gate import Change
from tracker.policy.push import Breach, NewCommit, Touch
from tracker.policy.push_about import about_breaches
from tracker.policy.push_appended import (
    CLOCKS,
    appended,
    changes_shop,
    founds_shop,
    merged,
    shop_alone,
    times,
)
from tracker.policy.push_records import NewRecord, authority_breaches, record_breaches, shop_breaches
from tracker.policy.push_refs import HEADS, main_breaches, reference_breaches
from tracker.records.events import ShopRecord
from tracker.records.places import SHOP, is_record, job_folder
from tracker.records.shop import Shop
from tracker.services.gate import gate
from tracker.services.ports_push import PushSeen
from tracker.services.push_evidence import evidence_breaches, record_it_is_about
from tracker.services.push_files import (
    FILE_LIMIT,
    attributes_breach,
    is_attributes,
    names_breaches,
    size_breaches,
)
from tracker.services.push_signatures import PushSignatures, maker_breaches, tag_breaches

_MOST_TOLD = 40
_TOGETHER = 256
"""Commits whose short programs are read together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Every rule that is broken, and what the gate has against releases, a line each; none: the push comes in."""

    lines: tuple[str, ...]

    @property
    def opens(self) -> bool:
        """Whether the push comes in."""
        return not self.lines


def judge_push(
    seen: PushSeen, changes: Sequence[Change], now: datetime, *, file_limit: int = FILE_LIMIT
) -> Verdict:
    """Judge a push.

    Args:
        seen: the repository pushed into, with what comes.
        changes: of references, with the values they have now.
        now: the server's clock.
        file_limit: the most bytes of one file.

    Raises:
        CouldNot: the repository cannot tell; nothing is taken in.
    """
    wanted = [change for change in changes if change.old != change.new]
    push = _Push(seen, wanted, now, file_limit)
    found = [str(breach) for breach in dict.fromkeys(push.breaches())]
    if not found:
        found = [str(breach) for breach in push.tags()]
    if not found:
        answer = gate(seen.recorded, wanted, seen.look, push=True, aside=push.aside, first=push.first)
        found = [f"release-gate: {line}" for line in answer.lines]
    if not found:
        found = [str(breach) for breach in push.makers()]
    if len(found) > _MOST_TOLD:
        found = [*found[:_MOST_TOLD], f"and {len(found) - _MOST_TOLD} more"]
    return Verdict(lines=tuple(map(_one_line, found)))


def _one_line(text: str) -> str:
    """Names come from the pusher: nothing of them may break the line, or speak to a terminal."""
    return "".join(mark if mark.isprintable() else ascii(mark)[1:-1] for mark in text)


def commit_breaches(
    seen: PushSeen, commits: Sequence[NewCommit], now: datetime, *, file_limit: int = FILE_LIMIT
) -> Iterator[Breach]:
    """Everything against commits by themselves, whatever push brought them: history, sizes, attributes, records.

    Each is judged by the shop.toml it follows, as those of a first push are: ``seen`` must know no reference.
    """
    push = _Push(seen, (), now, file_limit)
    yield from push.of_commits(commits)
    founded, unfounded = False, push.before_any_shop(commits)
    for commit in commits:
        if changes_shop(commit):
            # the first shop.toml of all comes with what a shop begins with, into a history that was there
            if founded or any(touch.path == SHOP and touch.status != "A" for touch in commit.made_here):
                yield from shop_alone(commit)
            founded = True
        if (
            commit.commit not in unfounded
        ):  # what stands of their rules now is told of the states branches are in
            yield from push.attributes(commit)


class _Push:
    """One push: what it brings, and the shop it is judged by."""

    def __init__(self, seen: PushSeen, changes: Sequence[Change], now: datetime, limit: int) -> None:
        self._seen = seen
        self._changes = changes
        self._now = now
        self._limit = limit
        self._tip = self._main_tip()
        self._before = seen.shop(self._tip) if self._tip is not None else None
        self._shops: dict[str, Shop | None] = {}

    def _main_tip(self) -> str | None:
        main = self._seen.main_branch()
        pushed = {change.ref: change.old for change in self._changes}
        if pushed.get(main) is not None:
            return pushed[main]
        if main in self._seen.references():
            return self._seen.commit_of(main)
        # HEAD names a branch that is not there: some branch stands for it, or a new one would be a first push
        there = sorted(ref for ref in self._seen.references() if ref.startswith(HEADS))
        return self._seen.commit_of(there[0]) if there else None

    @property
    def first(self) -> bool:
        """Whether nothing is there yet."""
        return self._tip is None

    def aside(self, commit: str) -> bool:
        """Whether a release there was made aside of the main branch as it is now: its maker did not know it all."""
        tip, seen = self._tip, self._seen
        if tip is None or seen.descends(commit, tip):
            return False
        if not seen.descends(tip, commit):
            return True
        return not seen.comparable(tip, commit)

    def breaches(self) -> Iterator[Breach]:
        """Everything against the push, before releases are derived."""
        seen = self._seen
        refs = list(reference_breaches(self._changes, seen.references(), seen.look, seen.descends))
        refs += main_breaches(self._changes, seen.references(), seen.main_branch())
        yield from refs
        if refs:  # what else they lead to is not looked at
            return
        tips = [change.new for change in self._changes if change.new is not None]
        commits = seen.new_commits(tips)
        yield from self._by_itself(commits)
        yield from self.of_commits(commits)

    def tags(self) -> Iterator[Breach]:
        """What stands against the signatures of release tags."""
        yield from tag_breaches(self._seen, self._changes, self._shops_of_tags(), self._tip, self._now)

    def makers(self) -> Iterator[Breach]:
        """What stands against those in whose name release tags are."""
        yield from maker_breaches(self._seen, self._changes, self._shops_of_tags(), self._tip)

    def _shops_of_tags(self) -> Mapping[str, Shop | None]:
        tips = {change.ref: self._commit_of(change) for change in self._changes}
        return {ref: self._before or self._shop_left_by(tip) for ref, tip in tips.items() if tip is not None}

    def of_commits(self, commits: Sequence[NewCommit]) -> Iterator[Breach]:
        """Everything against commits by themselves."""
        yield from self._history(commits)
        yield from self._foundings(commits)
        yield from self._files(commits)
        yield from self._records(commits)

    def _history(self, commits: Sequence[NewCommit]) -> Iterator[Breach]:
        known = {commit.commit: commit.committed for commit in commits}
        known.update(self._seen.committed({p for c in commits for p in c.parents if p not in known}))
        unfounded = self.before_any_shop(commits)
        for commit in commits:
            yield from appended(commit)
            if commit.commit in unfounded:
                continue
            yield from merged(commit)
            if self._before is not None:
                yield from shop_alone(commit)
            yield from times(commit, known)
            if max(commit.committed, commit.authored) > self._now + CLOCKS:
                words = f"says {max(commit.committed, commit.authored):%Y-%m-%d %H:%M} UTC, and it is not that late yet"
                yield Breach(rule="date-ahead", where=f"commit {commit.short}", words=words)

    def before_any_shop(self, commits: Sequence[NewCommit]) -> set[str]:
        """Commits of years before the shop was founded: nothing rests on their dates, or on how they were merged."""
        found: set[str] = set()
        there = {commit.commit for commit in commits}
        if self._before is not None:
            return found
        for commit in commits:
            if not changes_shop(commit) and all(
                parent in found if parent in there else self._seen.shop(parent) is None
                for parent in commit.parents
            ):
                found.add(commit.commit)
        return found

    def _foundings(self, commits: Sequence[NewCommit]) -> Iterator[Breach]:
        """A shop is founded once: who founds another beside it gives himself every role there, and what he does with them."""
        new = [commit for commit in commits if founds_shop(commit)]
        if not new:
            return
        seen = self._seen
        there = [self._tip] if self._before is not None and self._tip is not None else []
        there += [commit for commit in seen.known() if self._shop_left_by(commit) is not None]
        for commit in new:
            beside = next((one for one in there if not seen.descends(commit.commit, one)), None)
            if beside is not None:
                words = (
                    f"commit {commit.short} founds a shop beside the one that commit {beside[:12]} follows"
                )
                clears = "put what is worth keeping there into a clone of the shop, and check it in"
                yield Breach(rule="founded-twice", where=SHOP, words=words, clears=clears)
            else:
                there.append(commit.commit)

    def _by_itself(self, commits: Sequence[NewCommit]) -> Iterator[Breach]:
        """A change of people, keys and policy is a push of its own: nothing rests on it in the same one."""
        shops = [commit for commit in commits if len(commit.parents) < 2 and changes_shop(commit)]
        if self._before is None or not shops:
            return
        apart = {commit.commit for commit in shops}
        others = [c for c in commits if c.commit not in apart and (len(c.parents) < 2 or c.made_here)]
        tags = [change.ref for change in self._changes if not change.ref.startswith(HEADS)]
        if others or tags:
            first = shops[0]
            with_it = f"commit {others[0].short}" if others else tags[0]
            words = f"commit {first.short} changes it, and {with_it} comes in the same push"
            clears = f"push in steps: git push origin {first.parents[0][:12] if first.parents else ''}:BRANCH, then {first.short}:BRANCH, then the rest"
            yield Breach(rule="shop-with-other", where=SHOP, words=words, clears=clears)

    def _files(self, commits: Sequence[NewCommit]) -> Iterator[Breach]:
        touched = [touch for commit in commits for touch in commit.made_here if touch.status != "D"]
        yield from size_breaches(commits, self._seen.sizes({touch.blob for touch in touched}), self._limit)
        added = {touch.path for touch in touched}
        if added:
            for tip in dict.fromkeys(filter(None, map(self._commit_of, self._changes))):
                yield from names_breaches(self._seen.listing(tip), added)
        if self._tip is not None:
            unfounded = self.before_any_shop(commits)
            for commit in commits:
                yield from self.attributes(commit) if commit.commit not in unfounded else ()

    def attributes(self, commit: NewCommit) -> Iterator[Breach]:
        """What a commit changes in the rules by which git may alter bytes."""
        for touch in commit.made_here:
            if is_attributes(touch.path):
                tree = self._seen.recorded.tree
                before = tree(commit.parents[0]).read(touch.path) if commit.parents else None
                breach = attributes_breach(touch.path, before, tree(commit.commit).read(touch.path))
                if breach is not None:
                    yield breach

    def _commit_of(self, change: Change) -> str | None:
        if change.new is None:
            return None
        tag = self._seen.look(change.ref, change.new)
        return change.new if tag.kind == "commit" else tag.target

    def _records(self, commits: Sequence[NewCommit]) -> Iterator[Breach]:
        found = {c.commit: [t for t in c.made_here if t.status == "A" and is_record(t.path)] for c in commits}
        small = self._seen.sizes({t.blob for touches in found.values() for t in touches})
        bytes_of = self._seen.read(blob for blob, size in small.items() if size <= self._limit)
        dates = self._seen.committed({parent for commit in commits for parent in commit.parents})
        signatures = PushSignatures(self._seen, commits, self._tip)
        for place, commit in enumerate(commits):
            if place % _TOGETHER == 0:
                self._read_ahead(commits[place : place + _TOGETHER])
            try:
                shop = self._shop_for(commit)
            except ProveoutError as fault:
                words = f"commit {commit.short} leaves a shop.toml that cannot be read: {fault.what}"
                yield Breach(rule="shop-unreadable", where=fault.where or SHOP, words=words)
                continue
            by: str | None = None
            before = max((dates[parent] for parent in commit.parents), default=None)
            yield from signatures.of_commit(commit, shop)
            for touch in found[commit.commit]:
                new = self._new_record(commit, touch, bytes_of)
                if isinstance(new, Breach):
                    yield new
                    continue
                by = new.record.by if isinstance(new.record, ShopRecord) else by
                yield from record_breaches(new, self._now)
                yield from evidence_breaches(self._seen, new)
                yield from signatures.of_record(new, bytes_of[touch.blob], touch.blob, shop, before)
                if shop is not None:
                    left = self._shop_left_by(commit.commit)
                    yield from authority_breaches(new, shop, self._now, before, left)
                    about = record_it_is_about(self._seen, new)
                    yield from about_breaches(new, about, shop) if about is not None else ()
            if shop is not None and len(commit.parents) < 2 and changes_shop(commit):
                yield from shop_breaches(commit, shop, by)

    def _read_ahead(self, commits: Sequence[NewCommit]) -> None:
        """Read the short programs these bring in one go: records that come with them name them."""
        touched = {t.blob for c in commits for t in c.made_here if t.status != "D" and not is_record(t.path)}
        self._seen.read_short(touched)

    def _shop_for(self, commit: NewCommit) -> Shop | None:
        """The shop a commit is judged by; also reads the one it leaves, which must not be broken."""
        if changes_shop(commit) or not commit.parents or commit.parents[0] not in self._shops:
            self._shops[commit.commit] = self._seen.shop(commit.commit)
        else:
            self._shops[commit.commit] = self._shops[commit.parents[0]]
        if self._before is not None:
            return self._before
        return self._shop_left_by(commit.parents[0]) if commit.parents else None

    def _shop_left_by(self, commit: str) -> Shop | None:
        """The shop a commit before these left; of one that left none that can be read, nobody's authority."""
        if commit not in self._shops:
            try:
                self._shops[commit] = self._seen.shop(commit)
            except ProveoutError:
                self._shops[commit] = None
        return self._shops[commit]

    def _new_record(self, commit: NewCommit, touch: Touch, data: Mapping[str, bytes]) -> NewRecord | Breach:
        raw = data.get(touch.blob)
        if raw is None:
            return Breach(rule="too-large", where=touch.path, words="is no record: it is too large to be one")
        try:
            record = self._seen.record(raw, touch.path)
        except ProveoutError as fault:
            rule = fault.name if fault.name == "newer-record" else "unreadable-record"
            return Breach(
                rule=rule, where=touch.path, words=f"commit {commit.short}: {fault.what}", clears=fault.fix
            )
        return NewRecord(
            commit=commit,
            path=touch.path,
            sha256=sha256_of(raw),
            record=record,
            job_number=self._job_number(commit, touch.path, record.job),
        )

    def _job_number(self, commit: NewCommit, path: str, said: str | None) -> str | None:
        """The number in the job.toml above a record; asked only where the folder is called otherwise."""
        folder = job_folder(path)
        if folder is None or folder.rpartition("/")[2].casefold() == (said or "").casefold():
            return None
        try:
            return self._seen.recorded.tree(commit.commit).job(f"{folder}/job.toml").number
        except ProveoutError:
            return None
