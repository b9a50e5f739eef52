"""What the screens say of a record's signature: ``signed (key SHA256:...)``, ``unsigned``, ``signature does not hold: ...``.

A signature is looked for beside its record, in the tree in hand, or for a record of another branch where it came in. It holds
when it verifies over the bytes of the record and its key stood in shop.toml, where the record came in, for who sat at the
keyboard. What follows from that for a standing or a push is decided by policy; here it is only said.
"""

from tracker.policy.shops import shop_at
from tracker.records.public_keys import key_print, same_key
from tracker.records.signatures import signature_path
from tracker.records.stored import Ledger, Stored
from tracker.services.desk import Desk

UNSIGNED = "unsigned"


class SignedViews:
    """Looks at signatures of records of one ledger; ``anybody``: whether somebody has, or had, a key."""

    def __init__(self, desk: Desk, ledger: Ledger) -> None:
        self._desk = desk
        self._ledger = ledger
        shops = (ledger.shop, *(version.shop for version in ledger.shops))
        self.anybody = any(person.keys for shop in shops for person in shop.people)

    def words(self, stored: Stored) -> str:
        """What is said of this record's signature."""
        tree = self._desk.repo.tree(None if stored.in_hand else stored.commit)
        path = signature_path(stored.path)
        if self._desk.verify is None or not tree.has(path):
            return UNSIGNED
        key, fault = self._desk.verify(tree.read(stored.path) or b"", tree.read(path) or b"")
        if key is None:
            return f"signature does not hold: it {fault}"
        who = stored.record.entered_by or stored.record.by
        person = shop_at(self._ledger, stored).person(who)
        if person is None or not any(same_key(key, line) for line in person.keys):
            return f"signature does not hold: key {key_print(key)} was not one of {who}'s"
        return f"signed (key {key_print(key)})"

    def trouble(self, stored: Stored) -> str | None:
        """The same where a person should look: not signed although the shop signs, or a signature that does not hold."""
        said = self.words(stored)
        return None if said.startswith("signed") or (said == UNSIGNED and not self.anybody) else said
