"""The words of a standing: one sentence a cause, and what a person should know besides."""

from collections.abc import Iterator
from dataclasses import replace

from tracker.policy.book import Book, Entry
from tracker.policy.carry import Chain, Reach
from tracker.policy.days import happened_on, words
from tracker.policy.find import label
from tracker.policy.groups import GROUP, counts_on, same_machine
from tracker.policy.lapse import Use, lapses_on, profile
from tracker.policy.proofs import Owed, is_full, worth
from tracker.policy.spelled import by_words, counted, prove_command, revision_words
from tracker.policy.states import LAPSED, UNPROVEN, Cause
from tracker.policy.steps import tool_key, tools_words
from tracker.policy.texts import proofs_of_text
from tracker.records.encode import machine_profile
from tracker.records.events import ProofRecord, RanRecord, RevisionRecord
from tracker.records.shop import Machine


def proven_words(book: Book, entry: Entry[RevisionRecord], chain: Chain) -> str:
    """``proven by ss 4 Feb 2026 on MILL2``, or how it counts here by group."""
    proof = chain.root.proof.record
    by = by_words(book, proof)
    also = "" if proof.revision == entry.stored.name else f" as {revision_words(book, proof.revision)}"
    if chain.place == GROUP:
        said = f"proven on {proof.machine}, counts here by group ({by}{also})"
    else:
        said = f"proven by {by} on {proof.machine}{also}"
    return ", ".join((said, *chain.root.remarks))


def before_cause(entry: Entry[RevisionRecord]) -> Cause:
    """Why a text of before the record has no standing, and never gets one under its own number."""
    record, name = entry.record, label(entry.stored.name)
    return Cause(
        state=UNPROVEN,
        words="from before the record, which gives no standing",
        clears=f"proveout checkin {record.job}/{record.operation} --from {name}",
        records=(entry.stored,),
    )


def carried_words(book: Book, entry: Entry[RevisionRecord], chain: Chain, *, stopped: bool = False) -> str:
    """Where it is carried over from, that it was not run itself, and what to treat as a first run.

    ``stopped``: it may not be run at all, so nothing is said of how to.
    """
    proof = chain.root.proof.record
    root = revision_words(book, proof.revision)
    proved = words(happened_on(proof, book.zone))
    here = f"{proof.machine}, counts here by group" if chain.place == GROUP else proof.machine
    said = ", ".join((f"carried over from {root}, proved {proved} on {here}", *chain.root.remarks))
    said += f"; {revision_words(book, entry.stored.name)} itself was not run in full"
    if stopped:
        return said
    said += "."
    if chain.tools:
        said += f" Treat {tools_words(chain.tools)} as a first run."
    covered = [step.how for step in chain.steps if step.how]
    return f"{said} Covered by: {'; '.join(covered)}" if covered else said


def limits_of_renewal(use: Use) -> tuple[tuple[ProofRecord, str], ...]:
    """The short forms that keep it young, with what each was limited to; those without a limit are not told."""
    records = (stored.record for stored in (*use.through, use.stored))
    proofs = [record for record in records if isinstance(record, ProofRecord) and record.again]
    return tuple((proof, proof.limits) for proof in proofs if proof.limits)


def renewed_words(book: Book, use: Use) -> str:
    """``; proved again by kp 1 Feb 2026, limit: lot 7`` for each of them, else nothing."""
    told = limits_of_renewal(use)
    return "".join(f"; proved again by {by_words(book, proof)}, limit: {limit}" for proof, limit in told)


def lapsed_cause(
    book: Book, entry: Entry[RevisionRecord], machine: Machine, chain: Chain, use: Use
) -> Cause | None:
    """The cause that it has lapsed, or None."""
    until = lapses_on(book, use)
    if until is None or book.day < until:
        return None
    last = "last run" if isinstance(use.stored.record, RanRecord) else "last proof"
    none = "" if last == "last run" else ", no run recorded since"
    then, now = chain.root.proof.record.machine_profile, machine_profile(machine)
    again = " --again" if not chain.changes and profile(then) == profile(now) else ""
    waits = _renewal_owes(book, entry, machine, use) if again else []
    since = f"{counted(book.policy.lapse_months, 'month')} since the {last} {words(use.day)}{none}"
    return Cause(
        state=LAPSED,
        words="; ".join((f"lapsed {words(until)}: {since}", *(one.words for one in waits))),
        clears=waits[0].clears if waits else prove_command(book, entry, machine, again),
        records=(use.stored,),
    )


def _renewal_owes(book: Book, entry: Entry[RevisionRecord], machine: Machine, use: Use) -> list[Owed]:
    """What a short form made since still owes, and what would give it that; one that cannot be helped is told no more."""
    made = [
        proof
        for proof in proofs_of_text(book, entry)
        if proof.record.again
        and proof.record.result == "accepted"
        and same_machine(proof.record.machine, machine.id)
        and profile(proof.record.machine_profile) == profile(machine_profile(machine))
        and book.ledger.later(proof.stored, use.stored)
    ]
    owes = [worth(book, proof).owes for proof in reversed(made)]
    return list(next((owed for owed in owes if owed and all(one.clears for one in owed)), ()))


def unproven_causes(
    book: Book, entry: Entry[RevisionRecord], machine: Machine, reached: Reach
) -> list[Cause]:
    """Why nothing stands behind it here: proofs that do not count yet, steps that are not covered."""
    own = list(_owed_proofs(book, entry, machine))
    owed = [*own, *reached.owes]
    # every step to it is covered, then, or there is none: it hangs on the proofs of what it came from
    unique = list(dict.fromkeys(owed)) or list(dict.fromkeys(_owed_before(book, entry, machine)))
    unique = unique or [Owed(words=f"never proved on {machine.id}")]
    said = [f"unproven: {unique[0].words}", *(other.words for other in unique[1:])]
    full = prove_command(book, entry, machine)
    # a text before this one nobody mounts to prove it, and this one proved in full does for all
    at_once = not own and any(other.proves not in (None, entry.stored.name) for other in unique)
    return [
        Cause(state=UNPROVEN, words=text, clears=full if at_once else other.clears or full)
        for text, other in zip(said, unique, strict=True)
    ]


def notes_about(book: Book, entry: Entry[RevisionRecord], machine: Machine) -> Iterator[str]:
    """What else a person should know: proofs begun or owing, late entries, a revision beside this one."""
    name = revision_words(book, entry.stored.name)
    if "-" in name:
        yield f"another revision {name.partition('-')[0]} stands beside {name}: two clones checked in"
    for owed in _owed_proofs(book, entry, machine):
        yield owed.words


def _owed_proofs(book: Book, entry: Entry[RevisionRecord], machine: Machine) -> Iterator[Owed]:
    """Proofs of this code that count here by place but are not finished, or owe something."""
    proofs = proofs_of_text(book, entry)
    for proof in proofs:
        if counts_on(book, proof, machine) is None:
            continue
        if proof.record.result == "accepted":
            yield from worth(book, proof).owes
        elif proof.record.result != "rejected" and not any(_closes(book, one, proof) for one in proofs):
            said = f"prove-out begun by {by_words(book, proof.record)}, not finished"
            yield Owed.proof(said, book, entry, machine)
    yield from _incomparable(book, entry, machine)


def _closes(book: Book, other: Entry[ProofRecord], begun: Entry[ProofRecord]) -> bool:
    """Whether ``other`` went on with the prove-out that was ``begun``, or began one of its sort anew there."""
    return (
        same_machine(other.record.machine, begun.record.machine)
        and {tool_key(tool) for tool in other.record.tools} == {tool_key(tool) for tool in begun.record.tools}
        and other.record.again == begun.record.again
        and book.ledger.later(other.stored, begun.stored)
    )


def _owed_before(book: Book, entry: Entry[RevisionRecord], machine: Machine) -> Iterator[Owed]:
    """What the proofs of the texts it came from owe here, the nearest text first."""
    seen = {entry.stored.name}
    waiting = [entry]
    while waiting:
        for origin in waiting.pop(0).record.origins:
            source = book.revisions.get(origin.revision)
            if source is None or source.stored.name in seen:
                continue
            seen.add(source.stored.name)
            waiting.append(source)
            name = revision_words(book, source.stored.name)
            for owed in _owed_proofs(book, source, machine):
                yield replace(owed, words=f"{name}, which it came from: {owed.words}")


def _incomparable(book: Book, entry: Entry[RevisionRecord], machine: Machine) -> Iterator[Owed]:
    """Proofs that name this revision by fingerprints of another rule version."""
    for proof in book.proofs:
        other = proof.record.rule_version != entry.record.rule_version
        if proof.record.revision == entry.stored.name and other and is_full(proof.record):
            said = (
                f"the proof by {by_words(book, proof.record)} has a fingerprint by other rules "
                f"({proof.record.rule_version}, not {entry.record.rule_version}): they cannot be compared"
            )
            yield Owed.proof(said, book, entry, machine)
