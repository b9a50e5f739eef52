"""The records behind the rows of ``rows.py``, one method a word."""

from dataclasses import replace
from datetime import UTC, datetime
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
    ReleaseRecord,
    ReviewRecord,
    RevisionRecord,
    StrikeRecord,
    WithdrawRecord,
)
from tracker.records.stored import Stored
from tracker.services.prove_steps import CAUSES

TEXT_ONLY = {"numbering", "wording", "format", "post"}


def hexed(text: str) -> str:
    return sha256(text.encode()).hexdigest()


def day_of(word: str) -> datetime:
    day, _, clock = word.partition("@")
    hour, minute = clock.split(":") if clock else (9, 0)
    parts = [int(part) for part in day.split("-")]
    year = 2000 + parts[0] if len(parts) == 3 else 2026
    return datetime(year, *parts[-2:], int(hour), int(minute), tzinfo=UTC)


def operation_of(name: str, otherwise: str) -> str:
    """op20 of ``op20:r1``."""
    return name.partition(":")[0] if ":" in name else otherwise


def date_of(word: str) -> str:
    """``2026-02-04`` of ``02-04``."""
    return day_of(word).date().isoformat()


def number_of(name: str) -> str:
    """r0001 of ``op20:r1`` and of ``r1-a``."""
    return f"r{int(name.rpartition(':')[2][1:].split('-')[0]):04}"


class Events:
    """What happens in a row; `Rows` holds what the methods add to."""

    def revision(self, what: str, plain: list[str], options: dict[str, str]) -> None:
        name, _, sources = what.partition("<")
        by, *changes = plain
        operation = operation_of(name, self.operation)
        kinds = [word for word in changes if not word.startswith("T")]
        tools = next((word[1:] for word in changes if word.startswith("T")), "")
        # of another operation: r1 there, so that op20:r2<r1 reads as it is meant
        near = [self.near(source, name) for source in sources.split(",")] if sources else []
        origins = self.origins(near, kinds, tools, options)
        code = self.code_of(origins, name, options.get("code"))
        full = f"{number_of(name)}-{hexed(name + str(self.order))[:8]}"
        self.names[name] = full
        self.codes[full] = code
        rules = int(options.get("rules", 1))
        raw = hexed(options.get("raw", f"{name}{self.order}"))
        file = FileOf(path="p", name="O1001.nc", raw_sha256=raw, fingerprint=hexed(code), dialect="d")
        record = RevisionRecord(
            **self.opening(by, options),
            operation=operation,
            revision=number_of(name),
            operation_fingerprint=hexed(f"{code}{rules}"),
            rule_version=rules,
            sheet_fingerprint=hexed(options.get("sheet", "sheet")),
            files=(file,),
            origins=origins,
            post=options.get("post"),
        )
        self.put(record, full)

    def near(self, source: str, name: str) -> str:
        return source if ":" in source or ":" not in name else f"{name.partition(':')[0]}:{source}"

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
        same = [o.revision for o in origins if set(o.kinds) <= TEXT_ONLY]
        return stated or (self.codes.get(same[0], name) if same else name)

    def proof(self, plain: list[str], options: dict[str, str]) -> None:
        name, machine, by, *unusual = plain
        revision = self.record_of(name)
        print_of = hexed(options["print"]) if "print" in options else revision.operation_fingerprint
        causes = [word for word in unusual if word in CAUSES]
        piece = "waiting" if "waiting" in unusual else "accepted"
        record = ProofRecord(
            **self.opening(by, options),
            operation=revision.operation,
            revision=self.names[name],
            machine=machine,
            operation_fingerprint=print_of,
            rule_version=int(options.get("rules", revision.rule_version)),
            files=self.files_run(revision, options),
            machine_profile=self.profile(machine, options),
            result=next((word for word in unusual if word in ("rejected", "unfinished")), "accepted"),
            cause=causes[0] if causes else None,
            first_piece=FirstPiece(result=piece),
            tools=tuple(options["tools"].split(",")) if "tools" in options else (),
            limits=options.get("limit"),
            prior=self.prior(unusual, options),
            again="again" in unusual,
        )
        self.event(record)

    def files_run(self, revision: RevisionRecord, options: dict[str, str]) -> tuple[FileOf, ...]:
        """The revision's, with what is unusual: ``ran=`` raw bytes (``r1``: those of r1), ``code=``, ``files=none``, ``files=two``."""
        if options.get("files") == "none":
            return ()
        (file,) = revision.files
        if "ran" in options:
            known = self.names.get(options["ran"])
            raw = self.find(options["ran"]).record.files[0].raw_sha256 if known else hexed(options["ran"])
            file = replace(file, raw_sha256=raw)
        file = replace(file, fingerprint=hexed(options["code"])) if "code" in options else file
        file = replace(file, name=options["named"]) if "named" in options else file
        return (file, replace(file, name="O8001.NC")) if options.get("files") == "two" else (file,)

    def profile(self, machine: str, options: dict[str, str]) -> dict[str, object]:
        known = self.shop.machine(machine)
        decimal = options.get("decimal", known.decimal if known else "calculator")
        values = {"id": machine, "type": "mill", "units": "inch", "decimal": decimal}
        group = options.get("group", known.group if known else None)
        values |= {"group": group} if group else {}
        return values | ({"max_rpm": float(options["rpm"])} if "rpm" in options else {})

    def prior(self, unusual: list[str], options: dict[str, str]) -> dict[str, object] | None:
        if "prior" not in unusual:
            return None
        last: dict[str, object] = {}
        if "last" in options:
            last["last_run"] = date_of(options["last"]) if options["last"][:1].isdigit() else options["last"]
        evidence = options.get("evidence", "binder").replace("_", " ")
        return last if evidence == "none" else {"evidence": evidence, **last}

    def last(self, *kinds: type, of: str | None = None) -> Stored:
        if of is not None:
            return self.by_row[int(of)]
        return next(s for s in reversed(self.stored) if not kinds or isinstance(s.record, kinds))

    def measured(self, plain, options) -> None:
        by, result = plain
        proof = self.last(ProofRecord, RanRecord, of=options.get("of"))
        opening = {**self.opening(by, options), "operation": proof.record.operation}
        self.event(MeasuredRecord(**opening, proof=proof.path, report="1", result=result))

    def countersign(self, plain, options) -> None:
        proof = self.last(ProofRecord, of=options.get("of"))
        opening = {**self.opening(plain[0], options), "operation": proof.record.operation}
        self.event(CountersignRecord(**opening, proof=proof.path))

    def review(self, plain, options) -> None:
        pair, by, *kinds = plain
        name, _, source = pair.partition("<")
        source = self.near(source, name)
        record = self.record_of(name)
        origin = next((o for o in record.origins if o.revision == self.names[source]), None)
        review = ReviewRecord(
            **self.opening(by, options),
            operation=record.operation,
            revision=self.names[name],
            from_revision=self.names[source],
            kinds=tuple(kinds) or (origin.kinds if origin else ()),
        )
        self.event(review)

    def hold(self, plain, options) -> None:
        what, by, *reason = plain
        opening = {**self.opening(by, options), "reason": " ".join(reason) or None}
        if what.startswith("MILL"):
            cause = reason[0] if reason else None
            self.event(HoldRecord(**{**opening, "job": None}, scope="machine", machine=what, cause=cause))
            return
        if what not in self.names:
            self.event(HoldRecord(**opening, operation=what, scope="operation"))
            return
        held = self.record_of(what)
        record = HoldRecord(
            **opening,
            operation=held.operation,
            revision=self.names[what],
            scope="revision",
            operation_fingerprint=held.operation_fingerprint,
        )
        self.event(record)

    def lift(self, plain, options) -> None:
        stop = self.last(HoldRecord, WithdrawRecord, of=options.get("of"))
        holds = isinstance(stop.record, HoldRecord)
        machine = stop.record.machine if holds else None
        record = LiftRecord(
            **self.opening(plain[0], options),
            hold=stop.path if holds else None,
            withdrawal=None if holds else stop.path,
            machine=machine,
            check=options.get("check", "geometry").replace("_", " ") if machine else None,
        )
        self.event(record)

    def released(self, name: str) -> ReleasedOperation:
        record = self.record_of(name)
        return ReleasedOperation(
            operation=record.operation,
            revision=self.names[name],
            operation_fingerprint=record.operation_fingerprint,
        )

    def release(self, plain, options) -> None:
        number, by, *names = plain
        operations = tuple(self.released(name) for name in names)
        self.event(ReleaseRecord(**self.opening(by, options), number=int(number), operations=operations))

    def withdraw(self, plain, options) -> None:
        what, by, *reason = plain
        number = int(what) if what.isdigit() else int(options.get("no", 1))
        operations = () if what.isdigit() else (self.released(what),)
        opening = {**self.opening(by, options), "reason": " ".join(reason) or None}
        self.event(WithdrawRecord(**opening, number=number, operations=operations))

    def ran(self, plain, options) -> None:
        name, machine, by = plain
        of = self.record_of(name)
        record = RanRecord(
            **self.opening(by, options),
            operation=of.operation,
            revision=self.names[name],
            machine=machine,
            operation_fingerprint=of.operation_fingerprint,
            date=date_of(options["day"]) if "day" in options else None,
            first_piece=FirstPiece(result=options["piece"]) if "piece" in options else None,
        )
        self.event(record)

    def strike(self, plain, options) -> None:
        target = self.last(of=options.get("of"))
        opening = {**self.opening(plain[0], options), "operation": target.record.operation}
        self.event(StrikeRecord(**opening, record=target.path))
