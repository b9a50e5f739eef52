"""``checkin shop.toml``: people, machines and policy change by a commit of their own.

Authority is the shop.toml before the change: a person with role quality, or anyone while nobody holds that role that day.
The commit holds shop.toml and a record that says which tables changed; nothing else goes along.
"""

from dataclasses import dataclass, fields

from tracker.digest import sha256_of
from tracker.errors import BadCall, Refused
from tracker.policy.days import local_date, zone_of
from tracker.policy.may import QUALITY, holders, require
from tracker.records.events import ShopRecord
from tracker.records.names import event_file
from tracker.records.places import SHOP
from tracker.records.shop import Person, Shop
from tracker.records.signatures import REQUIRED
from tracker.services.desk import Desk, acting, opening
from tracker.services.ports import NewFile
from tracker.services.recording import attached_head, reason_text


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopReport:
    """``changed`` tables; ``commit`` None when nothing was written."""

    changed: tuple[str, ...]
    by: str | None = None
    commit: str | None = None
    dry_run: bool = False


def check_in_shop(desk: Desk, *, by: str | None, reason: str | None, dry_run: bool = False) -> ShopReport:
    """Record the shop.toml of the working folder.

    Raises:
        BadCall: shop.toml is wrong, ``no-reason``, ``who``, ``unknown-person``.
        Refused: ``detached-head``, ``wrong-role``, ``nobody-could-sign``.
    """
    head = attached_head(desk)
    before, after = desk.repo.tree().shop(), desk.repo.work_tree().shop()
    if not desk.repo.uncommitted((SHOP,)):
        return ShopReport(changed=(), dry_run=dry_run)
    why = reason_text(reason, "why does shop.toml change?")
    person = _may(desk, before, after, by)
    _not_locked_out(desk, after)
    changed = _changed(before, after)
    text = desk.repo.work_tree().read(SHOP) or b""
    record = ShopRecord(changed=changed, shop_sha256=sha256_of(text), reason=why, **opening(desk, person))
    data = desk.repo.encode(record)
    taken = set(desk.repo.tree().paths())
    path = event_file(None, None, None, record.EVENT, None, record.at, record.by, taken=taken)
    commit = None
    if not dry_run:
        commit = desk.repo.commit(
            [NewFile(path=path, data=data)],
            from_work_tree=(SHOP,),
            message=f"shop.toml: {why}",
            author=person,
            at=desk.clock.now(),
            expect=head,
        )
    return ShopReport(changed=changed, by=person.initials, commit=commit, dry_run=dry_run)


def _may(desk: Desk, before: Shop, after: Shop, by: str | None) -> Person:
    """Who acts, by the shop.toml before the change; the first people write themselves in."""
    guarded = bool(holders(before, QUALITY, local_date(desk.clock.now(), zone_of(before))))
    person = acting(desk, before if guarded else after, by)
    require(before, person, "shop", desk.clock.now())
    return person


def _not_locked_out(desk: Desk, after: Shop) -> None:
    """Refuse to require signatures where nobody who may change shop.toml could sign the next change."""
    if after.policy.signatures != REQUIRED:
        return
    here = holders(after, QUALITY, local_date(desk.clock.now(), zone_of(after)))
    if not any(person.keys for person in here):
        raise Refused(
            "nobody-could-sign",
            "signatures would be required, and nobody of quality has a key: shop.toml could never be changed again",
            where=f"{SHOP}: signatures",
            fix='write the .pub line of somebody of quality into shop.toml: keys = ["ssh-ed25519 ..."]',
        )


def _changed(before: Shop, after: Shop) -> tuple[str, ...]:
    """The tables that say something else now; remarks and blanks are none."""
    named = {"name": "shop", "timezone": "shop", "paper": "shop"}
    found = dict.fromkeys(
        named.get(field.name, field.name)
        for field in fields(Shop)
        if getattr(before, field.name) != getattr(after, field.name)
    )
    return tuple(found)


def hint_of_shop(desk: Desk, error: BadCall) -> BadCall:
    """The same error with a word about a shop.toml that was edited and not checked in, where that may be why."""
    about_shop = {"unknown-person", "unknown-machine", "who", "job-and-shop"}
    if error.name in about_shop and desk.repo.uncommitted((SHOP,)):
        error.reasons = (
            *error.reasons,
            f'{SHOP} was edited and is not checked in: proveout checkin {SHOP} -m "why"',
        )
    return error
