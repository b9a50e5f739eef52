"""Ledgers from terse rows, one record each, so that a table of cases reads as a table.

``02-04 proof r1 MILL2 ss`` : a date (of 2026, or ``24-01-17``), what happened, to what, by whom, and what is unusual
about it. Rows are separated by ``|``; each is a commit after the one before. ``~`` before a row: on another branch.

    02-02 r1 np                        a revision; ``r2<r1 np motion T4`` came from r1 with these kinds and sections
    02-02 r3<r1,r2 np motion/wording   from two origins, the kinds of each
    02-04 proof r1 MILL2 ss            accepted in full; then: rejected program, waiting, unfinished, tools=5,6, again,
                                       prior, last=23-05-01, limit=lot-7, at=01-20, group=G, decimal=increment
    02-05 measured kp accepted         the last proof or run
    02-05 countersign kp               the last proof
    02-05 review r2<r1 dg              all kinds of that step; or those given
    02-05 hold r1 dg why               a revision; ``hold op10 dg`` the operation; ``hold MILL2 dg crash`` the machine
    02-06 lift dg                      the last hold or withdrawal not named with ``of=<row number>``
    02-07 withdraw r1 dg               release 1, which held r1; ``withdraw all dg`` without saying what
    02-08 ran r1 MILL2 kp              then: day=02-06, piece=accepted
    02-09 strike ss                    the last record; ``of=<row number>`` another
    02-10 shop lapse_months=12         policy; ``shop MILL4=none`` takes a machine out of its group, ``shop ss=quality``
"""

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from hashlib import sha256

from tracker.records.events import (
    CountersignRecord,
    FileOf,
    FirstPiece,
    HoldRecord,
    LiftRecord,
    MeasuredRecord,
    Origin,
    ProofRecord,
    RanRecord,
    ReleasedOperation,
    ReviewRecord,
    RevisionRecord,
    StrikeRecord,
    WithdrawRecord,
)
from tracker.records.shop import Machine, Person, Policy, Shop
from tracker.records.stored import Ledger, ShopVersion, Stored

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
TEXT_ONLY = {"numbering", "wording", "format", "post"}


def hexed(text: str) -> str:
    return sha256(text.encode()).hexdigest()


def day_of(word: str) -> datetime:
    parts = [int(part) for part in word.split("-")]
    year = 2000 + parts[0] if len(parts) == 3 else 2026
    return datetime(year, *parts[-2:], 9, tzinfo=UTC)


@dataclass
class Rows:
    """The ledger under construction."""

    shop: Shop = SHOP
    job: str = "4471"
    operation: str = "op10"
    stored: list[Stored] = field(default_factory=list)
    shops: list[ShopVersion] = field(default_factory=list)
    by_row: dict[int, Stored] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)
    order: int = 0
    elsewhere: bool = False
    when: datetime = START

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
        words = words[1:] if self.elsewhere else words
        self.when = day_of(words[0]) + timedelta(minutes=self.order)
        what, *rest = words[1:]
        options = dict(word.split("=", 1) for word in rest if "=" in word)
        plain = [word for word in rest if "=" not in word]
        if what == "shop":
            self.shop_row(options)
            version = ShopVersion(
                shop=self.shop, commit=f"c{self.order}", order=self.order, committed=self.when
            )
            self.shops.append(version)
        elif what.startswith("r") and what[1:2].isdigit():
            self.revision(what, plain, options)
        else:
            getattr(self, what)(plain, options)

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
        commit = f"{'b' if self.elsewhere else 'c'}{self.order}"
        stored = Stored(
            record=record,
            path=f"jobs/4471/records/op10/{name}.toml",
            sha256=hexed(name),
            commit=commit,
            order=self.order,
            in_hand=not self.elsewhere,
        )
        self.stored.append(stored)
        self.by_row[self.order] = stored

    def event(self, record) -> None:
        self.put(record, f"{self.order:03}-{record.EVENT}")

    def record_of(self, name: str) -> RevisionRecord:
        full = self.names[name]
        return next(s.record for s in self.stored if s.name == full)

    # -- what happens -----------------------------------------------------------------------------------------------

    def revision(self, what: str, plain: list[str], options: dict[str, str]) -> None:
        name, _, sources = what.partition("<")
        by, *changes = plain
        kinds = [word for word in changes if not word.startswith("T")]
        tools = next((word[1:] for word in changes if word.startswith("T")), "")
        origins = self.origins(sources.split(",") if sources else [], kinds, tools, options)
        code = self.code_of(origins, name, options.get("code"))
        full = f"r{int(name[1:].split('-')[0]):04}-{hexed(name + str(self.order))[:8]}"
        self.names[name] = full
        raw = hexed(options.get("raw", f"{name}{self.order}"))
        self.put(
            RevisionRecord(
                **self.opening(by, options),
                operation=options.get("op", self.operation),
                revision=f"r{int(name[1:].split('-')[0]):04}",
                operation_fingerprint=hexed(f"{code}{options.get('rules', 1)}"),
                rule_version=int(options.get("rules", 1)),
                sheet_fingerprint=hexed(options.get("sheet", "sheet")),
                files=(
                    FileOf(path="p", name="O1001.nc", raw_sha256=raw, fingerprint=hexed(code), dialect="d"),
                ),
                origins=origins,
                post=options.get("post"),
            ),
            full,
        )

    def origins(self, sources, kinds, tools, options) -> tuple[Origin, ...]:
        per_origin = kinds[0].split("/") if kinds and len(sources) > 1 else [",".join(kinds)] * len(sources)
        sections = None if tools == "all" else tuple(tool for tool in tools.split(",") if tool)
        return tuple(
            Origin(
                revision=self.names[source],
                kinds=tuple(sorted(kind for kind in own.split(",") if kind)),
                sections=sections,
                slower=float(options["slower"]) if "slower" in options else None,
            )
            for source, own in zip(sources, per_origin, strict=True)
        )

    def code_of(self, origins: tuple[Origin, ...], name: str, stated: str | None) -> str:
        """The code letter: that of an origin the text differs from in words only, else its own."""
        self.codes = getattr(self, "codes", {})
        same = [o.revision for o in origins if set(o.kinds) <= TEXT_ONLY]
        code = stated or (self.codes.get(same[0], name) if same else name)
        full = f"r{int(name[1:].split('-')[0]):04}-{hexed(name + str(self.order))[:8]}"
        self.codes[full] = code
        return code

    def proof(self, plain: list[str], options: dict[str, str]) -> None:
        name, machine, by, *unusual = plain
        revision = self.record_of(name)
        profile = {
            "id": machine,
            "type": "mill",
            "units": "inch",
            "decimal": options.get("decimal", "calculator"),
        }
        group = options.get("group", next((m.group for m in self.shop.machines if m.id == machine), None))
        profile |= {"group": group} if group else {}
        profile |= {"max_rpm": float(options["rpm"])} if "rpm" in options else {}
        result = next((word for word in unusual if word in ("rejected", "unfinished")), "accepted")
        causes = [word for word in unusual if word in ("program", "setup", "machine")]
        prior = {"evidence": "binder"} if "prior" in unusual else None
        if prior and "last" in options:
            prior["last_run"] = day_of(options["last"]).date().isoformat()
        self.event(
            ProofRecord(
                **self.opening(by, options),
                operation=revision.operation,
                revision=self.names[name],
                machine=machine,
                operation_fingerprint=hexed(options["print"])
                if "print" in options
                else revision.operation_fingerprint,
                rule_version=int(options.get("rules", revision.rule_version)),
                files=revision.files,
                machine_profile=profile,
                result=result,
                cause=causes[0] if causes else None,
                first_piece=FirstPiece(result="waiting")
                if "waiting" in unusual
                else FirstPiece(result="accepted"),
                tools=tuple(options["tools"].split(",")) if "tools" in options else (),
                limits=options.get("limit"),
                prior=prior,
                again="again" in unusual,
            )
        )

    def last(self, *kinds: type, of: str | None = None) -> Stored:
        if of is not None:
            return self.by_row[int(of)]
        return next(s for s in reversed(self.stored) if not kinds or isinstance(s.record, kinds))

    def measured(self, plain, options) -> None:
        by, result = plain
        proof = self.last(ProofRecord, RanRecord, of=options.get("of")).path
        self.event(
            MeasuredRecord(
                **self.opening(by, options), operation=self.operation, proof=proof, report="1", result=result
            )
        )

    def countersign(self, plain, options) -> None:
        proof = self.last(ProofRecord, of=options.get("of")).path
        self.event(
            CountersignRecord(**self.opening(plain[0], options), operation=self.operation, proof=proof)
        )

    def review(self, plain, options) -> None:
        pair, by, *kinds = plain
        name, _, source = pair.partition("<")
        origin = next((o for o in self.record_of(name).origins if o.revision == self.names[source]), None)
        self.event(
            ReviewRecord(
                **self.opening(by, options),
                operation=self.operation,
                revision=self.names[name],
                from_revision=self.names[source],
                kinds=tuple(kinds) or (origin.kinds if origin else ()),
            )
        )

    def hold(self, plain, options) -> None:
        what, by, *reason = plain
        opening = {**self.opening(by, options), "reason": " ".join(reason) or None}
        if what in {m.id for m in SHOP.machines}:
            opening["job"] = None
            self.event(
                HoldRecord(**opening, scope="machine", machine=what, cause=reason[0] if reason else None)
            )
        elif what in self.names:
            record = self.record_of(what)
            self.event(
                HoldRecord(
                    **opening,
                    operation=record.operation,
                    revision=self.names[what],
                    scope="revision",
                    operation_fingerprint=record.operation_fingerprint,
                )
            )
        else:
            self.event(HoldRecord(**opening, operation=what, scope="operation"))

    def lift(self, plain, options) -> None:
        stop = self.last(HoldRecord, WithdrawRecord, of=options.get("of"))
        holds = isinstance(stop.record, HoldRecord)
        self.event(
            LiftRecord(
                **self.opening(plain[0], options),
                hold=stop.path if holds else None,
                withdrawal=None if holds else stop.path,
                machine=stop.record.machine if holds else None,
            )
        )

    def withdraw(self, plain, options) -> None:
        what, by, *reason = plain
        held = () if what == "all" else (self.record_of(what),)
        operations = tuple(
            ReleasedOperation(
                operation=record.operation,
                revision=self.names[what],
                operation_fingerprint=record.operation_fingerprint,
            )
            for record in held
        )
        opening = {**self.opening(by, options), "reason": " ".join(reason) or None}
        self.event(WithdrawRecord(**opening, number=1, operations=operations))

    def ran(self, plain, options) -> None:
        name, machine, by = plain
        record = self.record_of(name)
        self.event(
            RanRecord(
                **self.opening(by, options),
                operation=record.operation,
                revision=self.names[name],
                machine=machine,
                operation_fingerprint=record.operation_fingerprint,
                date=day_of(options["day"]).date().isoformat() if "day" in options else None,
                first_piece=FirstPiece(result=options["piece"]) if "piece" in options else None,
            )
        )

    def strike(self, plain, options) -> None:
        target = self.last(of=options.get("of"))
        self.event(
            StrikeRecord(**self.opening(plain[0], options), operation=self.operation, record=target.path)
        )

    def shop_row(self, options: dict[str, str]) -> None:
        for key, value in options.items():
            if key in {m.id for m in self.shop.machines}:
                group = None if value == "none" else value
                machines = tuple(replace(m, group=group) if m.id == key else m for m in self.shop.machines)
                self.shop = replace(self.shop, machines=machines)
            elif self.shop.person(key):
                people = tuple(
                    replace(p, roles=tuple(value.split("+"))) if p.initials == key else p
                    for p in self.shop.people
                )
                self.shop = replace(self.shop, people=people)
            else:
                self.shop = replace(
                    self.shop, policy=replace(self.shop.policy, **{key: self.policy_value(key, value)})
                )

    def policy_value(self, key: str, value: str) -> object:
        if key in ("carry", "review", "reprove"):
            return tuple(kind for kind in value.split("+") if kind)
        if key == "prior_until":
            return day_of(value).date()
        default = getattr(Policy(), key)
        return value == "true" if isinstance(default, bool) else type(default)(value)

    def ledger(self) -> Ledger:
        return Ledger(
            shop=self.shop,
            records=tuple(self.stored),
            shops=tuple(self.shops),
            descends=descends,
        )

    def find(self, name: str) -> Stored:
        return next(s for s in self.stored if s.name == self.names[name])


def descends(later: str, earlier: str) -> bool:
    """One line of commits; what is on another branch (``b``) comes after the line before it and before nothing."""
    if later == earlier:
        return True
    return earlier.startswith("c") and int(later[1:]) > int(earlier[1:])


def read(text: str) -> Rows:
    return Rows().read(text)
