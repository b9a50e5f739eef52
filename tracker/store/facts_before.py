"""What texts of programs were found to say here before, so that the local hook need not load what reads them.

Facts stand under the SHA-256 of the bytes, which are fetched and hashed again each time; see `tracker.store.noted` for
who believes them. A text is a row of its own, followed by a row a call, and a row an identity with a row for each of its
notes.
"""

from collections.abc import Iterable, Iterator, Mapping

from tracker.frozen import replace
from tracker.nc.call import Call
from tracker.nc.identity import RULE_VERSION, Identity
from tracker.services.program_facts import FactsKept, ProgramFacts
from tracker.store.noted import note_rows, noted_rows

_NAME = "programs-before"


def facts_before(common_dir: str) -> FactsKept:
    """What the texts of programs say, by the SHA-256 of the bytes."""
    try:
        return _facts_from(noted_rows(common_dir, _NAME))
    except (ValueError, KeyError, IndexError):  # not as this version writes it
        return {}


def note_facts(common_dir: str, facts: Mapping[str, ProgramFacts]) -> None:
    """Write down what is known by now."""
    note_rows(common_dir, _NAME, (row for one in facts.values() for row in _rows_of(one)))


def _rows_of(facts: ProgramFacts) -> Iterator[str]:
    numbers = ",".join(str(number) for number in facts.numbers)
    yield f"text {facts.raw_sha256} {facts.names_lines:d} {numbers}"
    for call in facts.calls:
        readings = ",".join(f"{number}*{repeats}" for number, repeats in call.readings)
        marks = f"{call.variable:d}{call.doubtful:d}"
        yield f"call {call.line} {call.word} {marks} {readings} {_written(call.text)}"
    for strict, it in facts.identities.items():
        yield f"identity {strict:d} {it.fingerprint} {it.bytes} {it.blocks} {it.dialect}"
        for note in it.notes:
            yield f"note {_written(note)}"


def _facts_from(rows: Iterable[str]) -> FactsKept:
    found: dict[str, ProgramFacts] = {}
    digest, strict = "", False
    for row in rows:
        kind, said = row.split(" ", 1)
        if kind == "text":
            digest, names_lines, numbers = said.split(" ", 2)
            found[digest] = ProgramFacts(
                numbers=tuple(int(number) for number in numbers.split(",") if number),
                calls=(),
                names_lines=names_lines == "1",
                raw_sha256=digest,
            )
        elif kind == "call":
            found[digest] = replace(found[digest], calls=(*found[digest].calls, _call_from(said)))
        elif kind == "identity":
            strict = said.startswith("1")
            found[digest].identities[strict] = _identity_from(digest, said)
        else:
            known = found[digest].identities[strict]
            found[digest].identities[strict] = replace(known, notes=(*known.notes, _read(said)))
    return found


def _call_from(said: str) -> Call:
    line, word, marks, readings, text = said.split(" ", 4)
    pairs = (pair.split("*") for pair in readings.split(",") if pair)
    return Call(
        line=int(line),
        text=_read(text),
        word=word,
        readings=tuple((int(number), int(repeats)) for number, repeats in pairs),
        variable=marks[0] == "1",
        doubtful=marks[1] == "1",
    )


def _identity_from(digest: str, said: str) -> Identity:
    _, fingerprint, size, blocks, dialect = said.split(" ")
    return Identity(
        fingerprint=fingerprint,
        raw_sha256=digest,
        bytes=int(size),
        blocks=int(blocks),
        dialect=dialect,
        rule_version=RULE_VERSION,
        notes=(),
    )


def _written(text: str) -> str:
    """On one line of ASCII."""
    return text.encode("unicode_escape").decode("ascii")


def _read(written: str) -> str:
    return written.encode("ascii").decode("unicode_escape")
