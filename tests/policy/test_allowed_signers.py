"""The file of allowed signers: who, which key, from which day to which (form: ssh-keygen(1), ALLOWED SIGNERS)."""

from datetime import UTC, date, datetime

from tracker.policy.allowed_signers import allowed_signers, principal
from tracker.records.public_keys import key_line
from tracker.records.shop import Person, Shop
from tracker.records.stored import Ledger, ShopVersion


def line(number: int) -> str:
    name = b"ssh-ed25519"
    return key_line(len(name).to_bytes(4, "big") + name + (32).to_bytes(4, "big") + bytes([number]) * 32)


def person(*keys: str, email: str = "kim@shop.example", since=None, left=None) -> Person:
    return Person(initials="kp", name="Kim", email=email, roles=("setup",), keys=keys, since=since, left=left)


def ledger(*versions: tuple[int, Person]) -> Ledger:
    shops = tuple(
        ShopVersion(
            shop=Shop(name="S", people=(who,)),
            commit=str(order),
            order=order,
            committed=datetime(2026, 3, day, 12, tzinfo=UTC),
        )
        for order, (day, who) in enumerate(versions)
    )
    return Ledger(shop=shops[-1].shop, shops=shops)


def rows(*versions: tuple[int, Person]) -> list[str]:
    return (allowed_signers(ledger(*versions)) or "").splitlines()[1:]


def test_nobody_has_a_key_so_there_is_no_file():
    assert allowed_signers(ledger((1, person()))) is None


def test_a_key_counts_from_the_day_it_came_and_a_remark_is_left_out():
    assert rows((1, person()), (5, person(line(1) + " on my PC"))) == [
        f'kim@shop.example namespaces="git,proof@proveout",valid-after="20260305" {line(1)}'
    ]


def test_a_key_taken_out_counts_up_to_that_day():
    found = rows((1, person(line(1))), (9, person(line(2))))
    assert [
        row.split(" ")[1].partition(",valid")[2] for row in sorted(found, key=lambda row: "before" not in row)
    ] == [
        '-after="20260301",valid-before="20260309"',
        '-after="20260309"',
    ]


def test_first_and_last_day_of_a_person_narrow_it():
    who = person(line(1), since=date(2026, 3, 20), left=date(2027, 1, 31))
    assert 'valid-after="20260320",valid-before="20270201"' in rows((1, who))[0]


def test_a_key_that_is_none_is_left_out():
    assert allowed_signers(ledger((1, person("ssh-ed25519 AAAA")))) is None


def test_an_address_that_would_be_a_pattern_is_not_used():
    assert principal(person(email="*@shop.example")) == "kp"
    assert principal(person(email='a b"@x')) == "kp"
    assert principal(person()) == "kim@shop.example"
