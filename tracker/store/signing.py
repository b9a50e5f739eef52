"""Signatures made: records and release tags signed by ``ssh-keygen`` with the key of the person who puts them down.

Everything is signed before anything is written: what cannot be signed leaves nothing behind. Who signs is who sits at
the keyboard: ``entered_by`` of a record where it names somebody, else ``by``. A signature that was made is verified here
before it is used.

Where policy is optional, a record goes unsigned when this PC has no key of that person, or one that does not stand in
shop.toml (a push would refuse it). A key that is there and listed is used, or the call fails: nothing is left unsigned
by mistake. Where it is required, the same goes for a record that only stops use (`is_stop`): nobody without a key may
be hindered from a hold or a rejection, and a server takes it unsigned.
"""

import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import nullcontext
from pathlib import Path

from tracker.errors import CouldNot, Refused
from tracker.records.places import is_record
from tracker.records.public_keys import key_print, same_key
from tracker.records.shop import Person, Shop
from tracker.records.signatures import NAMESPACE, REQUIRED, TAG_NAMESPACE, is_stop, signature_path
from tracker.services.ports import NewFile
from tracker.services.ports_sign import NO_KEY, FreeScreen, Told
from tracker.store.key_files import KeyFile, read_key_file
from tracker.store.ssh_keygen import sign


class Signing:
    """What signs in one clone (`tracker.services.ports_sign.Signer`); ``config`` gives git's settings there."""

    def __init__(self, config: Callable[[], Mapping[str, str]]) -> None:
        self.told: list[Told] = []
        self._config = config
        self._given: str | None = None
        self._may_ask = False
        self._free: FreeScreen = nullcontext

    def use(self, key: str | None, *, may_ask: bool, free: FreeScreen = nullcontext) -> None:
        """Sign with this key file from now on; ``may_ask``: a passphrase may be asked on the terminal, kept ``free``."""
        self._given = key or self._given
        self._may_ask = may_ask
        self._free = free

    def ready(self, who: str, shop: Shop) -> None:
        """Raise now what signing for this person would be refused for; nothing is told."""
        told = len(self.told)
        self._key(who, shop)
        del self.told[told:]

    def with_signatures(
        self, files: Sequence[NewFile], author: Person, shop_before: Callable[[], Shop | None]
    ) -> list[NewFile]:
        """The files, and behind them the signatures of those that are records.

        ``author``: whose a record is that names nobody. ``shop_before``: gives shop.toml before the change, None where there is none yet.

        Raises Refused (``no-signing-key``, ``key-not-listed``), BadCall, CouldNot (``key-locked``, ``no-ssh-keygen``, ...).
        """
        records = [file for file in files if is_record(file.path)]
        shop = shop_before() if records else None
        if shop is None:
            return list(files)
        by_person: dict[str, list[NewFile]] = {}
        for file in records:
            by_person.setdefault(_signer(_said(file.data)) or author.initials, []).append(file)
        return [*files, *(one for who, mine in by_person.items() for one in self._signed(who, mine, shop))]

    def tag_signature(self, payload: bytes, tagger: Person, shop: Shop | None) -> bytes:
        """The armour to stand behind a tag's text, empty where it goes unsigned; raises as `with_signatures`."""
        key = self._key(tagger.initials, shop) if shop is not None else None
        if key is None:
            return b""
        try:
            with self._free():
                return sign(key, [payload], TAG_NAMESPACE, may_ask=self._may_ask)[0]
        except CouldNot as fault:
            fault.fix = f"{fault.fix}; then run it again: a release whose record is there already is taken up"
            raise

    def _signed(self, who: str, files: Sequence[NewFile], shop: Shop) -> Iterator[NewFile]:
        key = self._key(who, shop, stop=all(_stops(file.data) for file in files))
        if key is None:
            return
        with self._free():
            made = sign(key, [file.data for file in files], NAMESPACE, may_ask=self._may_ask)
        self.told.append(Told(initials=who, key=key_print(key.line)))
        for file, armoured in zip(files, made, strict=True):
            yield NewFile(path=signature_path(file.path), data=armoured)

    def _key(self, who: str, shop: Shop, *, stop: bool = False) -> KeyFile | None:
        """The key that signs for this person, None where it goes unsigned (and why is told).

        ``stop``: what is signed only stops use, so it may go unsigned.
        """
        required = shop.policy.signatures == REQUIRED and not stop
        path = self.path_of(who)
        if path is None:
            if required:
                raise _no_signing_key(who, shop)
            unwanted = self._given == NO_KEY
            quiet = not unwanted and not any(person.keys for person in shop.people)
            self._unsigned(
                who, "left so on purpose" if unwanted else f"this PC has no key of {who}", quiet=quiet
            )
            return None
        key = read_key_file(path)
        person = shop.person(who)
        if person is None or not any(same_key(key.line, line) for line in person.keys):
            if required or self._given:
                raise _not_listed(who, key)
            self._unsigned(who, f"the key this PC has of {who} does not stand in shop.toml", quiet=False)
            return None
        return key

    def path_of(self, who: str) -> Path | None:
        """The file of the key meant for this person, None where there is none, or none is wanted."""
        if self._given == NO_KEY:
            return None
        said = self._given or self._config().get(setting_of(who))
        return Path(said).expanduser() if said else None

    def _unsigned(self, who: str, why: str, *, quiet: bool) -> None:
        self.told.append(Told(initials=who, why=why, quiet=quiet))


def setting_of(who: str) -> str:
    """The setting of git that keeps the file of a person's key on this PC."""
    return f"proveout.{who.lower()}.key"


def _said(data: bytes) -> Mapping[str, object]:
    """What a record says; nothing where it cannot be read."""
    try:
        return tomllib.loads(data.decode("utf-8"))
    except ValueError:
        return {}


def _signer(record: Mapping[str, object]) -> str | None:
    """Who sits at the keyboard, as the record has it; None where it names nobody."""
    said = record.get("entered_by") or record.get("by")
    return said if isinstance(said, str) else None


def _stops(data: bytes) -> bool:
    record = _said(data)
    return is_stop(record.get("event"), record.get("result"))


def _no_signing_key(who: str, shop: Shop) -> Refused:
    person = shop.person(who)
    keep = f"proveout install --key FILE --by {who}"
    listed = person is not None and bool(person.keys)
    return Refused(
        "no-signing-key",
        f"records must be signed here, and this PC has no key of {who}{'' if listed else ', nor does shop.toml list one'}",
        where="shop.toml: signatures",
        fix=f"{keep}; or --key FILE with this call"
        if listed
        else f"ssh-keygen -t ed25519 makes a key; quality puts its .pub line into shop.toml, keys of {who}, and checks that in; then {keep}",
    )


def _not_listed(who: str, key: KeyFile) -> Refused:
    return Refused(
        "key-not-listed",
        f"this key does not stand in shop.toml for {who}, so what it signs would count for nothing",
        where=key.path,
        fix=f"keep the key that stands there: proveout install --key FILE --by {who}; a new key (never one that was taken out) "
        f'somebody of quality adds to {who} in shop.toml: keys = ["{key.line}"], and checks that in',
    )
