"""The part of ``install`` that has to do with signatures: a person's key on this PC, and who git takes for whom.

The file of allowed signers is made of shop.toml and its history; with it ``git verify-tag`` and ``ssh-keygen -Y verify`` can
look at what was signed without us. A file a person had named to git before is kept.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from tracker.errors import ProveoutError
from tracker.policy.allowed_signers import allowed_signers
from tracker.records.public_keys import same_key
from tracker.records.shop import Person
from tracker.records.stored import Ledger
from tracker.services.desk import Desk
from tracker.services.install import Done, InstallReport
from tracker.services.ports_setup import SetUp

SIGNERS = "gpg.ssh.allowedSignersFile"
_WHAT = "git knows who signs, from shop.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyGiven:
    """A key file that this PC is to keep for a person: its full path."""

    person: Person
    path: str


def with_signing(report: InstallReport, desk: Desk, setup: SetUp, key: KeyGiven | None) -> InstallReport:
    """The report, with what was done about signatures.

    Raises BadCall (``no-key-file``, ``not-a-key``) before anything of this part is written.
    """
    actions, notes = [*report.actions], [*report.notes]
    if key is not None:
        line = setup.key_line(key.path)
        kept = setup.kept_keys().get(key.person.initials.lower()) == key.path
        setup.put_key(key.person.initials, key.path)
        actions.append(
            Done(
                what=f"records of {key.person.initials} are signed here with this key",
                state="kept" if kept else "written",
                where=key.path,
            )
        )
        if not _has(key.person, line):
            notes.append(not_listed(desk.repo.ledger(), key.person.initials, line)[0])
    done, said = _signers(desk, setup)
    actions += done
    notes += said
    return replace(report, actions=tuple(actions), notes=tuple(notes))


def not_listed(ledger: Ledger, initials: str, line: str) -> tuple[str, str]:
    """What it means that a key does not stand in shop.toml, and what to do: one that was taken out is not put back."""
    before = [person for version in ledger.shops for person in version.shop.people]
    if any(one.initials.lower() == initials.lower() and _has(one, line) for one in before):
        says = f"This key was taken out of shop.toml for {initials}: it signs nothing any more."
        fix = f"proveout install --key FILE --by {initials}, with a key that stands there; who has none makes one "
        return says, f"{fix}(ssh-keygen -t ed25519), and somebody of quality lists it"
    says = f"This key does not stand in shop.toml for {initials}: until somebody of quality adds "
    says += f'keys = ["{line}"] to {initials} and checks shop.toml in, it signs nothing.'
    return says, f'put it into shop.toml by somebody of quality: keys = ["{line}"]'


def _has(person: Person, line: str) -> bool:
    return any(same_key(line, listed) for listed in person.keys)


def undo_signing(setup: SetUp) -> Iterator[Done]:
    """Take away what `with_signing` put into a clone; key files and what a person had set stay."""
    for initials in setup.kept_keys():
        setup.drop_key(initials)
        yield Done(what=f"the key of {initials}; its file stays", state="removed")
    if setup.setting(SIGNERS) is not None and not kept_for_a_person(setup):
        setup.drop_setting(SIGNERS)
    if setup.signers() is not None:
        setup.drop_signers()
        yield Done(what=_WHAT, state="removed")


def kept_for_a_person(setup: SetUp) -> str | None:
    """A file of allowed signers somebody had named to git; None for ours, also of a clone that was moved or copied here."""
    named = setup.setting(SIGNERS)
    ours = setup.signers_path()
    own_end = "/".join(ours.rsplit("/", 3)[1:])  # .git/proveout/allowed-signers
    return None if named is None or named == ours or named.endswith(f"/{own_end}") else named


def _signers(desk: Desk, setup: SetUp) -> tuple[list[Done], list[str]]:
    """What was done about the file of allowed signers, and what a person should know of it."""
    try:
        text = allowed_signers(desk.repo.ledger())
    except ProveoutError as fault:
        old = setup.signers() is not None
        return [], [f"Who git takes for whom was left as it was: {fault.what}."] if old else []
    if text is None:
        return [], []
    before = setup.signers()
    if before != text:
        setup.put_signers(text)
    named, ours = setup.setting(SIGNERS), setup.signers_path()
    theirs = kept_for_a_person(setup)
    if theirs is None and named != ours:
        setup.put_setting(SIGNERS, ours)
    done = Done(
        what=_WHAT, state="kept" if before == text and (theirs or named == ours) else "written", where=ours
    )
    other = [f"{SIGNERS} was set to {theirs} before and is kept; ours lies in {ours}."]
    return [done], [] if theirs is None else other
