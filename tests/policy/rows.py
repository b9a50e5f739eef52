"""Ledgers from terse rows, one record each, so that a table of cases reads as a table.

``02-04 proof r1 MILL2 ss`` : a date (of 2026, or ``24-01-17``; ``02-04@23:30`` with a time of UTC, else about 9:00), what
happened, to what, by whom, and what is unusual about it. Rows are separated by ``|``; each is a commit after the one
before. ``~`` before a row: on another branch, never brought in. ``&`` before a row: made in a second clone, which knows
nothing of the rows after its first one, and brought in by the row ``join`` (or at the end).

    02-02 r1 np                        a revision; ``r2<r1 np motion T4`` came from r1 with these kinds and sections
    02-02 r3<r1,r2 np motion/wording   from two origins, the kinds of each
    02-02 op20:r1 np                   a revision of another operation; ``op*:r1`` one each of op10 to op70, in one commit
    02-04 proof r1 MILL2 ss            accepted in full; then: rejected program, waiting, unfinished, tools=5,6, again,
                                       prior, last=23-05-01, limit=lot-7, at=01-20, group=G, decimal=increment,
                                       evidence=none, evidence=___x; of what was run: ran=b (raw bytes; ran=r1 those of
                                       r1), code=x (its code), named=O7.NC, files=none, files=two
    02-05 measured kp accepted         the last proof or run
    02-05 countersign kp               the last proof
    02-05 review r2<r1 dg              all kinds of that step; or those given
    02-05 hold r1 dg why               a revision; ``hold op10 dg`` the operation; ``hold MILL2 dg crash`` the machine
    02-06 lift dg                      the last hold or withdrawal not named with ``of=<row number>``; of a machine's hold also
                                       check=_ (what was checked, here nothing)
    02-06 release 1 dg r1 op20:r1      what release 1 of the job holds
    02-07 withdraw r1 dg               release 1, of which r1; ``withdraw 2 dg`` all of release 2; ``withdraw r1 dg no=2``
    02-08 ran r1 MILL2 kp              then: day=02-06, piece=accepted
    02-09 strike ss                    the last record; ``of=<row number>`` another
    02-10 shop lapse_months=12         policy; ``shop MILL4=none`` takes a machine out of its group, ``MILL4=gone`` out of
                                       the shop, ``MILL4.decimal=increment`` describes it otherwise; ``ss=quality`` roles;
                                       ``kp.left=02-05`` the last day, ``kp.since=02-05`` the first; ``zone=Asia/Tokyo``
    02-01 sheet op10=MILL2+MILL4 op11<op10=MILL9    for a release: the job's operations, op11 an alternative to op10
    02-10 shop signatures=required ss.keys=ss    the policy, and a key of a person by a name of its own (``kp.keys=`` takes it away)
Any row may end with ``signed=ss`` (a signature by that key; ``signed=broken``: one that does not hold), ``typed=np`` (who entered it) and ``at=01-20`` (the day it is said to have happened on).
"""

import re
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta

from tests.policy.row_events import Events, day_of, hexed
from tracker.digest import sha256_of
from tracker.records.events import RevisionRecord
from tracker.records.public_keys import key_line
from tracker.records.shop import Machine, Person, Policy, Shop
from tracker.records.stored import Found, Ledger, ShopVersion, Stored

MILLS = "MILLS"
START = datetime(2023, 1, 2, 8, tzinfo=UTC)
SHOP = Shop(
    name="Bench",
    timezone="Europe/London",
    people=tuple(
        Person(initials=i, name=i, email=f"{i}@bench.example", roles=tuple(roles.split()))
        for i, roles in {
            "np": "programmer",
            "pp": "programmer",
            "ss": "setup",
            "kp": "setup",
            "dg": "quality",
            "bb": "programmer setup",
            "xx": "",
        }.items()
    ),
    machines=(
        Machine(id="MILL2", type="mill", units="inch", decimal="calculator", group=MILLS),
        Machine(id="MILL4", type="mill", units="inch", decimal="calculator", group=MILLS),
        Machine(id="MILL9", type="mill", units="inch", decimal="calculator"),
    ),
)


def line(name: str) -> str:
    """The line of a key called so."""
    parts = (b"ssh-ed25519", bytes.fromhex(sha256_of(name.encode())))
    return key_line(b"".join(len(part).to_bytes(4, "big") + part for part in parts))


SEVEN = tuple(f"op{number}0" for number in range(1, 8))
REVISION = re.compile(r"(?:op\d+:)?r\d")


@dataclass
class Rows(Events):
    """The ledger under construction."""

    shop: Shop = SHOP
    job: str = "4471"
    operation: str = "op10"
    stored: list[Stored] = field(default_factory=list)
    shops: list[ShopVersion] = field(default_factory=list)
    by_row: dict[int, Stored] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)
    codes: dict[str, str] = field(default_factory=dict)
    past: dict[str, frozenset[str]] = field(default_factory=dict)
    here: frozenset[str] = frozenset({"c0"})
    clone: frozenset[str] | None = None
    commit: str = "c0"
    order: int = 0
    elsewhere: bool = False
    when: datetime = START
    seal: str | None = None
    seals: dict[str, Found] = field(default_factory=dict)
    sheets: list[tuple[str, str, str]] = field(default_factory=list)

    def __post_init__(self):
        self.shops.append(ShopVersion(shop=self.shop, commit="c0", order=0, committed=START))

    def read(self, text: str) -> "Rows":
        for row in text.split("|"):
            words = row.split()
            if words:
                self.row(words)
        return self

    def row(self, words: list[str]) -> None:
        self.order += 1
        self.elsewhere = words[0] == "~"
        other = words[0] == "&"
        words = words[1:] if self.elsewhere or other else words
        self.commits(other)
        self.when = day_of(words[0])
        if "@" not in words[0]:
            self.when += timedelta(minutes=self.order)
        for said in self.each(words[1:]):
            what, *rest = said
            options = dict(word.split("=", 1) for word in rest if "=" in word)
            plain = [word for word in rest if "=" not in word]
            self.seal = options.pop("signed", None)
            if what == "shop":
                self.shop_row(options)
            elif REVISION.match(what):
                self.revision(what, plain, options)
            else:
                getattr(self, what)(plain, options)

    def each(self, words: list[str]) -> list[list[str]]:
        """The same for every one of seven operations where a row says ``op*``."""
        if not any("op*" in word for word in words):
            return [words]
        return [[word.replace("op*", operation) for word in words] for operation in SEVEN]

    def commits(self, other: bool) -> None:
        """The commit of this row, and what it comes after: the line, or the second clone's."""
        self.commit = f"{'b' if self.elsewhere else 'c'}{self.order}"
        if other:
            self.clone = frozenset({*(self.clone or self.here), self.commit})
        elif not self.elsewhere:
            self.here = frozenset({*self.here, self.commit})
        self.past[self.commit] = self.clone if other else self.here

    def join(self, plain: list[str], options: dict[str, str]) -> None:
        """What the second clone made is brought in."""
        self.here = frozenset({*self.here, *(self.clone or ())})
        self.past[self.commit], self.clone = self.here, None

    def sheet(self, plain: list[str], options: dict[str, str]) -> None:
        """The operations of job.toml: id, what it is an alternative to, machines."""
        for key, machines in options.items():
            operation, _, alternative = key.partition("<")
            self.sheets.append((operation, alternative, machines))

    def opening(self, by: str, options: dict[str, str]) -> dict[str, object]:
        at = day_of(options["at"]) if "at" in options else self.when
        return {
            "job": self.job,
            "at": at,
            "entered": self.when,
            "by": by,
            "entered_by": options.get("typed"),
        }

    def put(self, record, name: str) -> None:
        stored = Stored(
            record=record,
            path=f"jobs/4471/records/{record.operation or 'job'}/{name}.toml",
            sha256=hexed(name),
            commit=self.commit,
            order=self.order,
            in_hand=not self.elsewhere,
        )
        self.stored.append(stored)
        if self.seal is not None:
            key = None if self.seal == "broken" else line(self.seal)
            self.seals[stored.path] = Found(there=True, key=key, fault="" if key else "does not hold")
        self.by_row[self.order] = stored

    def event(self, record) -> None:
        self.put(record, f"{self.order:03}-{record.EVENT}")

    def record_of(self, name: str) -> RevisionRecord:
        return self.find(name).record

    def find(self, name: str) -> Stored:
        return next(s for s in self.stored if s.name == self.names[name])

    # -- shop.toml --------------------------------------------------------------------------------------------------

    def shop_row(self, options: dict[str, str]) -> None:
        for key, value in options.items():
            who, _, what = key.partition(".")
            if any(m.id == who for m in SHOP.machines):
                self.machine_row(who, what, value)
            elif self.shop.person(who):
                self.person_row(who, what, value)
            elif key == "zone":
                self.shop = replace(self.shop, timezone=value)
            else:
                policy = replace(self.shop.policy, **{key: policy_value(key, value)})
                self.shop = replace(self.shop, policy=policy)
        version = ShopVersion(shop=self.shop, commit=self.commit, order=self.order, committed=self.when)
        self.shops.append(version)

    def machine_row(self, who: str, what: str, value: str) -> None:
        change = {what or "group": None if value == "none" else value}
        machines = (replace(m, **change) if m.id == who else m for m in self.shop.machines)
        kept = tuple(m for m in machines if (m.id, value) != (who, "gone"))
        self.shop = replace(self.shop, machines=kept)

    def person_row(self, who: str, what: str, value: str) -> None:
        change: dict[str, object] = {"roles": tuple(value.split("+"))}
        if what == "keys":
            change = {"keys": tuple(line(name) for name in value.split("+") if name)}
        elif what:
            change = {what: day_of(value).date()}
        people = tuple(replace(p, **change) if p.initials == who else p for p in self.shop.people)
        self.shop = replace(self.shop, people=people)

    def ledger(self) -> Ledger:
        return Ledger(
            shop=self.shop,
            records=tuple(self.stored),
            shops=tuple(self.shops),
            descends=lambda later, earlier: later == earlier or earlier in self.past.get(later, ()),
            sealed=lambda stored: self.seals.get(stored.path, Found()),
        )


def policy_value(key: str, value: str) -> object:
    if key in ("carry", "review", "reprove"):
        return tuple(kind for kind in value.split("+") if kind)
    if key == "prior_until":
        return day_of(value).date()
    default = getattr(Policy(), key)
    return value == "true" if isinstance(default, bool) else type(default)(value)


def read(text: str) -> Rows:
    return Rows().read(text)
