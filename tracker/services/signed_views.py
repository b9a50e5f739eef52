"""What the screens say of a record's signature: ``signed (key SHA256:...)``, ``unsigned``, ``signature does not hold: ...``.

A signature is looked for beside its record, in the tree in hand, or for a record of another branch where it came in. What it
is worth is `tracker.policy.signed`'s answer, by the shop.toml before the record came in; here it is only made short.
"""

from tracker.policy import signed
from tracker.policy.signed import Worth
from tracker.policy.unsigned import signing_shop
from tracker.records.signatures import signature_path
from tracker.records.stored import Found, Ledger, Stored
from tracker.services.desk import Desk
from tracker.services.ports import Tree

UNSIGNED = "unsigned"


class SignedViews:
    """Looks at signatures of records of one ledger; ``anybody``: whether somebody has, or had, a key."""

    def __init__(self, desk: Desk, ledger: Ledger) -> None:
        self._desk = desk
        self._ledger = ledger
        self._in_hand: Tree | None = None
        shops = (ledger.shop, *(version.shop for version in ledger.shops))
        self.anybody = any(person.keys for shop in shops for person in shop.people)

    def words(self, stored: Stored) -> str:
        """What is said of this record's signature."""
        found = self._found(stored)
        if not found.there:
            return UNSIGNED
        worth = self._worth(stored, found)
        if worth.good:
            return f"signed (key {worth.key})"
        return f"signature does not hold: the record {worth.words}"

    def trouble(self, stored: Stored) -> str | None:
        """The same where a person should look: not signed although the shop signs, or a signature that does not hold."""
        said = self.words(stored)
        return None if said.startswith("signed") or (said == UNSIGNED and not self.anybody) else said

    def _found(self, stored: Stored) -> Found:
        tree = self._tree() if stored.in_hand else self._desk.repo.tree(stored.commit)
        path = signature_path(stored.path)
        if self._desk.verify is None or not tree.has(path):
            return Found()
        key, fault = self._desk.verify(tree.read(stored.path) or b"", tree.read(path) or b"")
        return Found(there=True, key=key, fault=fault)

    def _tree(self) -> Tree:
        """The tree in hand, asked for once: thousands of records are looked at."""
        if self._in_hand is None:
            self._in_hand = self._desk.repo.tree()
        return self._in_hand

    def _worth(self, stored: Stored, found: Found) -> Worth:
        """By the states before the record's own commit; a first commit is its own state."""
        shop, earlier = signing_shop(self._ledger, stored)
        return signed.worth(signed.signer_of(stored.record), found, shop or self._ledger.shop, earlier)
