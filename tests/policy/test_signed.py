"""What a signature is worth, by ``tables/signatures.txt``; how it is written stands at the table's head."""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime

import pytest

from tests.policy.rows import line
from tests.policy.table import SIGNATURES, agrees
from tracker.policy.signed import VERDICTS, needs_signature, signer_of, stops, worth
from tracker.records.events import HoldRecord, LiftRecord, MeasuredRecord, ProofRecord, WithdrawRecord
from tracker.records.shop import Person, Policy, Shop
from tracker.records.stored import Found

ASKED = re.compile(
    r"\? by (?P<by>\w+)(?:, entered by (?P<entered>\w+))?, (?:(?P<nothing>nothing)|key (?P<key>\w+)|fault ?(?P<fault>[^:]*?))"
    r"(?:, follows (?P<day>[\d-]+))?: (?P<verdict>[\w-]+): (?P<words>.*)"
)
PERSON = re.compile(r"(\w+)=([\w,]*)(?: until ([\d-]+))?")
NOON = datetime(2026, 2, 2, 12, tzinfo=UTC)


@dataclass(frozen=True)
class Row:
    case: str
    shops: tuple[Shop, ...]
    asked: re.Match[str]


def shop(text: str) -> Shop:
    people = tuple(
        Person(
            initials=initials,
            name=initials,
            email=f"{initials}@b.example",
            roles=(),
            keys=tuple(f"{line(name)} remark" for name in keys.split(",") if name),
            left=date.fromisoformat(left) if left else None,
        )
        for initials, keys, left in PERSON.findall(text)
    )
    assert people, text
    return Shop(name="Bench", timezone="Europe/London", people=people)


def rows() -> list[Row]:
    found = []
    for block in SIGNATURES.read_text(encoding="utf-8").split("\n\n"):
        lines = [one for one in block.splitlines() if one.strip() and not one.startswith("#")]
        if not lines:
            continue
        name, versions, *questions = lines
        for question in questions:
            asked = ASKED.fullmatch(question.strip())
            assert asked, question
            found.append(Row(name, tuple(map(shop, versions.split("|"))), asked))
    return found


ROWS = rows()


def hold(by: str, entered: str | None) -> HoldRecord:
    return HoldRecord(
        job="4471", by=by, entered_by=entered, at=NOON, entered=NOON, reason="chatter", scope="op10"
    )


@pytest.mark.parametrize("row", ROWS, ids=[f"{row.case}: {row.asked[0]}" for row in ROWS])
def test_worth(row: Row):
    asked = row.asked
    found = Found(
        there=not asked["nothing"],
        key=line(asked["key"]) if asked["key"] else None,
        fault=asked["fault"] or "",
    )
    day = datetime.fromisoformat(asked["day"]).replace(hour=12, tzinfo=UTC) if asked["day"] else None
    *earlier, now = row.shops
    answer = worth(signer_of(hold(asked["by"], asked["entered"])), found, now, earlier, day)
    assert (answer.verdict, agrees(answer.words, asked["words"])) == (asked["verdict"], True), answer.words
    assert answer.good == (asked["verdict"] == "good")
    assert (answer.key is None) == (asked["verdict"] in ("unsigned", "broken"))


def test_every_verdict_has_rows():
    assert len(ROWS) >= 40
    assert {row.asked["verdict"] for row in ROWS} == set(VERDICTS)


@pytest.mark.parametrize(("policy", "needs"), [("optional", False), ("required", True)])
def test_policy_says_whether_it_must_be_signed(policy, needs):
    assert needs_signature(Shop(name="Bench", policy=Policy(signatures=policy))) == needs


def test_the_first_shop_toml_asks_no_signature_of_itself():
    assert not needs_signature(None)


@pytest.mark.parametrize(
    ("kind", "said", "stop"),
    [
        (HoldRecord, {"scope": "machine"}, True),
        (WithdrawRecord, {"number": 1}, True),
        (ProofRecord, {"result": "rejected"}, True),
        (ProofRecord, {"result": "accepted"}, False),
        (ProofRecord, {"result": "unfinished"}, False),
        (MeasuredRecord, {"result": "rejected"}, True),
        (MeasuredRecord, {"result": "accepted"}, False),
        (LiftRecord, {}, False),
    ],
)
def test_only_what_stops_use_may_go_unsigned(kind, said, stop):
    needed = {
        ProofRecord: {"machine": "M", "operation_fingerprint": "f", "rule_version": 1},
        MeasuredRecord: {"proof": "p", "report": "r"},
    }
    assert stops(kind(at=NOON, entered=NOON, by="kp", **needed.get(kind, {}), **said)) == stop
