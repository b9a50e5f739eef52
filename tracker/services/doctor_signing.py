"""The points of ``doctor`` about signatures: the program, this PC's keys, who has none, whom git knows."""

from tracker.policy.allowed_signers import allowed_signers
from tracker.policy.days import local_date, zone_of
from tracker.policy.shops import is_here
from tracker.records.public_keys import same_key
from tracker.records.shop import Person, Shop
from tracker.records.signatures import REQUIRED
from tracker.services.desk import whose
from tracker.services.doctor_points import Place, Point
from tracker.services.install_signing import SIGNERS, kept_for_a_person, not_listed

_INSTALL = "proveout install"


def program(at: Place) -> Point:
    """Whether ssh-keygen is there; where nobody signs it need not be."""
    found, shop = at.setup.ssh_keygen(), at.desk.repo.tree().shop()
    if found is not None:
        return Point(name="ssh-keygen", state="on", says=found)
    says = "ssh-keygen is not there, and records are signed with it"
    fix = "install OpenSSH; git for Windows brings it along: put its folder usr/bin into PATH"
    return Point(name="ssh-keygen", state="off", says=says, fix=fix, advice=not _anybody_signs(shop))


def key(at: Place) -> Point:
    """Whether the keys this PC keeps can be read and stand in shop.toml, and this PC's person has one."""
    shop, kept = at.desk.repo.tree().shop(), at.setup.kept_keys()
    for initials, path in kept.items():
        line, person = at.setup.key_line(path), shop.person(initials)
        if person is None or not any(same_key(line, listed) for listed in person.keys):
            says, fix = not_listed(at.desk.repo.ledger(), initials, line)
            return Point(name="key", state="off", says=says, fix=fix)
    required = shop.policy.signatures == REQUIRED
    unsigned = "only a hold, a withdrawal or a rejection is taken" if required else "records go unsigned"
    owner = whose(at.desk, shop)
    if isinstance(owner, Person) and owner.initials.lower() not in kept and _must_sign(shop, owner):
        says = f"this PC has no key of {owner.initials}: {unsigned}"
        fix = f"proveout install --key FILE --by {owner.initials}"
        return Point(name="key", state="off", says=says, fix=fix, advice=not required)
    if not kept and required:
        says, fix = f"this PC keeps no key: {unsigned} here", "proveout install --key FILE --by INITIALS"
        return Point(name="key", state="off", says=says, fix=fix, advice=True)
    if not kept:
        return Point(name="key", state="on", says=f"this PC keeps no key: {unsigned} here", advice=True)
    says = f"this PC signs for {', '.join(sorted(kept))}; shop.toml knows the keys"
    return Point(name="key", state="on", says=says)


def people(at: Place) -> Point:
    """Whether everybody has a key where signatures are required."""
    shop = at.desk.repo.tree().shop()
    today = local_date(at.desk.clock.now(), zone_of(shop))
    here = [person for person in shop.people if is_here(person, today)]
    without = [person.initials for person in here if not person.keys]
    said = f"signatures are {shop.policy.signatures}"
    if shop.policy.signatures == REQUIRED and without:
        says = f"{said}, and shop.toml has no key of {', '.join(without)}: what they record would be refused"
        fix = 'write the line of the .pub file into shop.toml: keys = ["ssh-ed25519 ..."]'
        return Point(name="signatures", state="off", says=says, fix=fix)
    if not any(person.keys for person in here):
        return Point(name="signatures", state="on", says=f"{said}, and nobody has a key", advice=True)
    says = f"{said}; " + (f"no key: {', '.join(without)}" if without else "everybody has a key")
    return Point(name="signatures", state="on", says=says)


def signers(at: Place) -> Point:
    """Whether git's own check knows whom to take for whom, as shop.toml has it now."""
    wanted = allowed_signers(at.desk.repo.ledger())
    named = at.setup.setting(SIGNERS)
    if wanted is None:
        return Point(name="signers", state="on", says="nobody has a key", advice=True)
    if kept_for_a_person(at.setup) is not None:
        says = f"git verifies tags by a file of your own, {named}"
        return Point(name="signers", state="on", says=says, advice=True)
    if named != at.setup.signers_path() or at.setup.signers() != wanted:
        says = "shop.toml has other keys than the file git verifies tags by"
        return Point(name="signers", state="off", says=says, fix=_INSTALL, advice=True)
    return Point(name="signers", state="on", says="git verifies tags by the keys of shop.toml", advice=True)


def _anybody_signs(shop: Shop) -> bool:
    return shop.policy.signatures == REQUIRED or any(person.keys for person in shop.people)


def _must_sign(shop: Shop, owner: Person) -> bool:
    return shop.policy.signatures == REQUIRED or bool(owner.keys)
