"""Signing what is put down, as the use cases and the screen see it: whose key, and what became of each record."""

from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext

from tracker.frozen import dataclass
from tracker.records.shop import Shop
from tracker.typed import Protocol

NO_KEY = "none"
"""What is said for a key to leave a record unsigned on purpose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What became of one file or tag: who should sign, the key's print where it was signed, else ``why`` not.

    ``quiet``: nobody in the shop signs, so a screen says nothing of it.
    """

    initials: str
    key: str | None = None
    why: str = ""
    quiet: bool = False

    @property
    def words(self) -> str:
        """``signed (key SHA256:...)`` or ``unsigned``."""
        return f"signed (key {self.key})" if self.key else "unsigned"


class Verify(Protocol):
    """Verifies the signature of a record; whose key it is, is asked elsewhere."""

    def __call__(self, record: bytes, armoured: bytes) -> tuple[str | None, str]:
        """The line of the key that signed, or None and why it does not hold, to go behind "its signature".

        Raises CouldNot (``no-cryptography``).
        """


FreeScreen = Callable[[], AbstractContextManager[None]]
"""While it lasts, nothing is drawn where a question may stand."""


class Signer(Protocol):
    """Signs records and release tags with the key of who puts them down."""

    told: list[Told]

    def use(self, key: str | None, *, may_ask: bool, free: FreeScreen = nullcontext) -> None:
        """Sign with the key in this file; None: the one this PC keeps for the person. `NO_KEY`: do not sign.

        ``may_ask``: a passphrase may be asked on the terminal. ``free``: keeps the screen free while one may be.
        """

    def ready(self, who: str, shop: Shop) -> None:
        """Raise now what signing for this person would be refused for, so that nobody answers questions in vain."""


def signed_words(told: Sequence[Told]) -> str | None:
    """One word for all that was put down in a call; None where nothing was."""
    found = sorted({one.words for one in told})
    return "; ".join(found) or None


class SigningSetUp(Protocol):
    """What this PC keeps for signing in one clone. What looks may raise CouldNot."""

    def ssh_keygen(self) -> str | None:
        """Where ssh-keygen is, None where it is not."""

    def kept_keys(self) -> Mapping[str, str]:
        """The key files this PC keeps: initials (lower case) -> path."""

    def key_line(self, path: str) -> str:
        """The public key in a file, as one line; raises BadCall (``no-key-file``, ``not-a-key``, ``key-in-the-shop``)."""

    def put_key(self, initials: str, path: str) -> None:
        """Keep a person's key file."""

    def drop_key(self, initials: str) -> None:
        """Forget it; the file stays."""

    def signers_path(self) -> str:
        """Where the file of allowed signers belongs."""

    def signers(self) -> str | None:
        """What it holds now, None where there is none."""

    def put_signers(self, text: str) -> None:
        """Write it."""

    def drop_signers(self) -> None:
        """Take it away, if it is there."""
