"""Signatures of what a push brings: read all at once, verified, and held against the people of the shop.toml before."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from itertools import chain

from tracker.errors import ProveoutError
from tracker.policy.gate import RELEASES, Change, named_record
from tracker.policy.push import Breach, NewCommit
from tracker.policy.push_records import NewRecord
from tracker.policy.push_refs import HEADS
from tracker.policy.push_signed import alone, replayed, shop_unsigned, worth_breach
from tracker.policy.release_tag import maker_words, tag_worth
from tracker.policy.signed import needs_signature, signer_of, stops, worth
from tracker.records.events import ReleaseRecord
from tracker.records.places import is_below_records
from tracker.records.shop import Shop
from tracker.records.signatures import NAMESPACE, SUFFIX, TAG_NAMESPACE, signature_path
from tracker.records.stored import Found
from tracker.services.ports import TagSeen
from tracker.services.ports_push import PushSeen

_LIMIT = 16 * 1024


class PushSignatures:
    """The signatures some commits bring; ``tip``: the main branch before the push, None where there was none."""

    def __init__(self, seen: PushSeen, commits: Sequence[NewCommit], tip: str | None) -> None:
        self._seen = seen
        self._tip = tip
        self._blobs = {
            (commit.commit, touch.path): touch.blob
            for commit in commits
            for touch in commit.made_here
            if touch.status == "A" and is_below_records(touch.path) and touch.path.endswith(SUFFIX)
        }
        sizes = seen.sizes(self._blobs.values())
        self._data = seen.read(blob for blob, size in sizes.items() if size <= _LIMIT)
        self._there: dict[str, str] | None = None
        self._earlier: dict[str, tuple[Shop, ...]] = {}

    def of_record(
        self, new: NewRecord, raw: bytes, blob: str, shop: Shop | None, followed: datetime | None
    ) -> Iterator[Breach]:
        """What stands against one record's signature; ``raw`` its bytes, ``blob`` their id."""
        found = self._found(new, raw)
        # before the first shop.toml nobody's key is known: only what does not hold is told
        if shop is not None or (found.there and found.key is None):
            base = self._tip or next(iter(new.commit.parents), None)
            people = shop or Shop(name="")
            value = worth(signer_of(new.record), found, people, _Lazy(self, base), followed)
            breach = worth_breach(new.path, value, shop, stop=stops(new.record))
            if breach is not None:
                yield breach
        if found.key is not None:
            first = self._first_place(blob, new)
            if first is not None:
                yield replayed(new.path, first)

    def of_commit(self, commit: NewCommit, shop: Shop | None) -> Iterator[Breach]:
        """What stands against a commit's signatures as files."""
        yield from alone(commit)
        yield from shop_unsigned(commit, shop)

    def _found(self, new: NewRecord, raw: bytes) -> Found:
        blob = self._blobs.get((new.commit.commit, signature_path(new.path)))
        if blob is None:
            return Found()
        armoured = self._data.get(blob)
        if armoured is None:
            return Found(there=True, fault="is too long to be one")
        key, fault = self._seen.seal(raw, armoured, NAMESPACE)
        return Found(there=True, key=key, fault=fault)

    def _first_place(self, blob: str, new: NewRecord) -> str | None:
        """Where these signed bytes stand already, else None; from now on they stand here."""
        if self._there is None:
            self._there = {}
            for ref in self._seen.references():
                commit = self._seen.commit_of(ref) if ref.startswith("refs/heads/") else None
                self._there |= self._seen.record_blobs(commit) if commit else {}
        first = self._there.get(blob)
        self._there.setdefault(blob, new.path)
        return first

    def earlier(self, base: str | None) -> tuple[Shop, ...]:
        """The versions of shop.toml a state follows."""
        if base is None:
            return ()
        if base not in self._earlier:
            ledger = self._seen.recorded.ledger(base)
            self._earlier[base] = tuple(v.shop for v in ledger.shops if ledger.descends(base, v.commit))
        return self._earlier[base]


class _Lazy:
    """Versions of shop.toml read only if somebody goes through them."""

    def __init__(self, signatures: PushSignatures, base: str | None) -> None:
        self._signatures = signatures
        self._base = base

    def __iter__(self) -> Iterator[Shop]:
        return iter(self._signatures.earlier(self._base))


def tag_breaches(
    seen: PushSeen,
    changes: Sequence[Change],
    shops: Mapping[str, Shop | None],
    tip: str | None,
    now: datetime,
) -> Iterator[Breach]:
    """What stands against the signatures of new release tags.

    ``shops``: by the reference, the shop.toml a tag is judged by; ``tip``: the main branch before, None in a first push, whose
    tags may be of years ago. A tag that is no release's in other ways is told by the gate.
    """
    for change, tag, record in _releases(seen, changes):
        shop = shops.get(change.ref)
        text, armoured = seen.tag_parts(tag.object_id)
        if shop is None or not (armoured or needs_signature(shop)):
            continue
        key, fault = seen.seal(text, armoured, TAG_NAMESPACE) if armoured else (None, "")
        found = Found(there=bool(armoured), key=key, fault=fault)
        earlier = _Lazy(PushSignatures(seen, (), tip), tip)
        value = tag_worth(record, found, shop, earlier, now if tip is not None else None)
        if tip is None and not value.good and not needs_signature(shop):
            # no clone asks for it; it may have been made later than its record, with a key that was listed by then
            later = (tag_worth(record, found, one) for one in _pushed_versions(seen, changes))
            value = next((one for one in later if one.good), value)
        breach = worth_breach(change.ref, value, shop)
        if breach is not None:
            yield breach


def _pushed_versions(seen: PushSeen, changes: Sequence[Change]) -> Iterator[Shop]:
    """The versions of shop.toml the branches of a push follow."""
    signatures = PushSignatures(seen, (), None)
    for change in changes:
        if change.ref.startswith(HEADS):
            yield from signatures.earlier(change.new)


def maker_breaches(
    seen: PushSeen, changes: Sequence[Change], shops: Mapping[str, Shop | None], tip: str | None
) -> Iterator[Breach]:
    """New release tags in the name of somebody who has no part in the release; arguments as of `tag_breaches`.

    Of a first push an audit tells them.
    """
    for change, tag, record in _releases(seen, changes) if tip is not None else ():
        known = (shops.get(change.ref), seen.shop(tag.target or ""))
        versions = chain(
            (one for one in known if one is not None), PushSignatures(seen, (), tip).earlier(tip)
        )
        words = maker_words(tag.tagger, record, versions)
        if words is not None:
            short = change.ref.removeprefix("refs/tags/")
            # the hook of the clone lets no release tag go; this one is in nobody else's hands
            clears = f"git -c core.hooksPath=/dev/null tag -d {short}; {record.by} makes it: proveout release {record.job}"
            yield Breach(rule="not-its-author", where=change.ref, words=words, clears=clears)


def _releases(seen: PushSeen, changes: Sequence[Change]) -> Iterator[tuple[Change, TagSeen, ReleaseRecord]]:
    """New release tags with the record they name; what is no release in other ways is left to the gate."""
    for change in changes:
        if change.ref.startswith(RELEASES) and change.new is not None:
            tag = seen.look(change.ref, change.new)
            record = _record_of(seen, tag.target, tag.message) if tag.kind == "tag" and tag.target else None
            if record is not None:
                yield change, tag, record


def _record_of(seen: PushSeen, commit: str, message: str) -> ReleaseRecord | None:
    """The release record a tag names; None where there is none that can be read."""
    path, _ = named_record(message) or ("", "")
    data = seen.recorded.tree(commit).read(path) if path else None
    try:
        record = seen.record(data, path) if data is not None else None
    except ProveoutError:
        return None
    return record if isinstance(record, ReleaseRecord) else None
