"""What must hold of the canonical form for any program: the properties behind "never a false same"."""

import re
from decimal import Decimal

from hypothesis import assume, given
from hypothesis import strategies as st

from tests.fakes.nc_texts import BLOCKS, MOSTLY_WORDS, PROGRAMS, WAYS, WILD, Block, Way, written
from tracker.nc import simple
from tracker.nc.canonical import canonical, read, source_of
from tracker.nc.comments import pieces
from tracker.nc.fingerprint import fingerprint_of, identity, identity_of_chunks
from tracker.nc.labels import References
from tracker.nc.reader import careful_line
from tracker.nc.source import Source

PLAIN = Way()


@given(PROGRAMS, WAYS, WAYS)
def test_reformatting_keeps_the_code(program, one, other):
    first, second = read(written(program, one)), read(written(program, other))
    assert first.dialect == second.dialect == "word-address"
    assert first.code == second.code


@given(PROGRAMS, st.data(), st.integers(1, 255).map(chr))
def test_any_changed_character_of_code_alters_it(program, data, char):
    code = canonical(written(program, PLAIN)).decode("latin-1")
    at = data.draw(st.integers(0, len(code) - 2))
    # a plus in front of a point, where a zero stood, says the same number
    assume(char.upper() != code[at] and char != "+" and code[at] != "\n")
    changed = code[:at] + char + code[at + 1 :]
    assert identity(changed.encode("latin-1")).fingerprint != identity(code.encode("latin-1")).fingerprint


@given(PROGRAMS, st.data())
def test_any_character_of_code_that_goes_alters_it(program, data):
    code = canonical(written(program, PLAIN)).decode("latin-1")
    at = data.draw(st.integers(0, len(code) - 2))
    assume(code[at] not in "0\n")
    assert canonical((code[:at] + code[at + 1 :]).encode("latin-1")).decode("latin-1") != code


@given(PROGRAMS, st.data())
def test_blocks_that_change_places_alter_the_code(program, data):
    blocks = canonical(written(program, PLAIN)).split(b"\n")[:-1]
    one, other = data.draw(st.tuples(*[st.integers(0, len(blocks) - 1)] * 2))
    assume(blocks[one] != blocks[other])
    moved = list(blocks)
    moved[one], moved[other] = moved[other], moved[one]
    assert canonical(b"\n".join(moved)) != canonical(b"\n".join(blocks))


@st.composite
def jumping(draw):
    """A program with labels and jumps to them, and what the labels are called."""
    count = draw(st.integers(1, 4))
    blocks = draw(st.lists(BLOCKS, min_size=count, max_size=count + 6))
    at = draw(st.permutations(range(len(blocks))))
    labelled = {position: label for label, position in enumerate(at[:count])}
    program = []
    for position, block in enumerate(blocks):
        jump = draw(st.none() | st.integers(0, count - 1))
        program.append(Block(block.words, block.skip, block.wording, labelled.get(position), jump))
    used = {block.jump for block in program} - {None}
    assume(used)
    return program, count, sorted(used)


def _named(draw, count):
    return dict(enumerate(draw(st.lists(st.integers(1, 9999), min_size=count, max_size=count, unique=True))))


@given(jumping(), WAYS, WAYS, st.data())
def test_renumbering_labels_with_their_jumps_keeps_the_code(made, one, other, data):
    program, count, _ = made
    first, second = (
        read(written(program, Way(**{**_fields(way), "numbers": _named(data.draw, count), "step": 0})))
        for way in (one, other)
    )
    assert first.code == second.code
    assert b"N=1" in first.code or b"GOTO=1" in first.code


def _fields(way):
    return {name: getattr(way, name) for name in Way.__dataclass_fields__}


@given(jumping(), st.data())
def test_a_jump_to_another_label_is_other_code(made, data):
    program, count, used = made
    assume(count > 1)
    label = data.draw(st.sampled_from(used))
    elsewhere = data.draw(st.integers(0, count - 1).filter(lambda other: other != label))
    first = next(i for i, block in enumerate(program) if block.jump == label)
    block = program[first]
    broken = list(program)
    broken[first] = Block(block.words, block.skip, block.wording, block.label, elsewhere)
    way = Way(numbers=_named(data.draw, count))
    assert canonical(written(program, way)) != canonical(written(broken, way))


@given(jumping(), st.data())
def test_renumbering_a_label_without_its_jumps_is_other_code(made, data):
    program, count, used = made
    numbers = _named(data.draw, count)
    label = data.draw(st.sampled_from(used))
    text = written(program, Way(numbers=numbers)).decode("latin-1")
    free = max(numbers.values()) + 1
    broken = re.sub(rf"(?m)^(/2?)?N{numbers[label]}(?=[A-Z])", rf"\g<1>N{free}", text)
    assert broken != text
    assert canonical(text.encode("latin-1")) != canonical(broken.encode("latin-1"))


@given(WILD | MOSTLY_WORDS, st.booleans())
def test_the_canonical_form_of_a_canonical_form_is_itself(data, strict):
    # leader bytes may open a canonical text only where a comment was taken away in front of them
    code = canonical(bytes(b for b in data if b not in b"\0\x13"), strict=strict)
    assume(b"\r\n" not in code)  # a CR that ended no line at the end of the file gets its LF
    again = read(code, strict=strict)
    assume(again.dialect == "word-address" or b"N=" not in code or not re.search(rb"[ \t]\n", code))
    assert again.code == code


@given(WILD | MOSTLY_WORDS, st.booleans())
def test_a_canonical_form_without_marks_has_the_fingerprint_of_its_program(data, strict):
    data = bytes(b for b in data if b not in b"\0\x13")
    code = canonical(data, strict=strict)
    if b"N=" not in code and b"\r\n" not in code:
        assert identity(code, strict=strict).fingerprint == identity(data, strict=strict).fingerprint


@given(WILD | MOSTLY_WORDS, st.booleans(), st.lists(st.integers(1, 40), min_size=1, max_size=8))
def test_every_way_to_the_code_gives_the_same(data, strict, sizes):
    def chunks():
        at, turn = 0, 0
        while at < len(data):
            yield data[at : at + sizes[turn % len(sizes)]]
            at, turn = at + sizes[turn % len(sizes)], turn + 1

    reading = read(data, strict=strict)
    whole = identity(data, strict=strict)
    assert reading.code == canonical(data, strict=strict)
    assert whole.fingerprint == fingerprint_of(reading.code, reading.dialect)
    assert whole == identity_of_chunks(chunks, strict=strict)
    assert whole.notes == reading.notes
    assert whole.blocks == reading.code.count(b"\n") == len(reading.lines)
    for strand in (reading.numbering, reading.wording, reading.format):
        assert strand.count(b"\n") == whole.blocks + 1


@given(WILD, st.integers(1, 60))
def test_no_byte_is_lost(data, size):
    for cut in (size, 1 << 18):
        source = Source.of(lambda cut=cut: (data[at : at + cut] for at in range(0, len(data), cut)))
        pages = list(source.pages())
        lines = [line + end for page in pages for line, end in source.lines(page)]
        assert source.leader + b"".join(lines) + source.trailer == data
        assert source.leader + b"".join(page.raw for page in pages) + source.trailer == data


@given(WILD)
def test_no_character_of_a_line_is_lost(data):
    line = data.decode("latin-1").replace("\n", " ")
    assert "".join(line[piece.start : piece.end] for piece in pieces(line)) == line


SIMPLE_PIECES = [
    "N10",
    "N",
    "n 5 ",
    "G1",
    "g 01",
    "G54.1",
    "G65",
    "M98",
    "M3",
    "X1.50",
    "x-.5",
    "Z-0.",
    "T01",
    "O1",
]
SIMPLE_PIECES += [
    "T0101",
    "A-0",
    "F0100",
    " ",
    "  ",
    "\t",
    ".",
    "1",
    "-",
    "E1.",
    "P010",
    "H",
    "G0.10",
    "X+0",
    "L02",
]
MOSTLY_SIMPLE = st.lists(
    st.lists(st.sampled_from(SIMPLE_PIECES), max_size=7).map("".join), min_size=1, max_size=5
).map(lambda lines: "".join(line + "\n" for line in lines).encode())


@given(MOSTLY_SIMPLE | MOSTLY_WORDS, st.booleans())
def test_the_quick_way_gives_what_the_careful_one_gives(data, numbers):
    text = data if data.endswith(b"\n") else data + b"\n"
    assume(not list(simple.odd_lines(text)))
    quick = simple.spelled(text, numbers=numbers)
    assume(quick is not None)
    careful = [careful_line(line) for line in text.decode().split("\n")[:-1]]
    expected = [("N" + c.number if numbers and c.number else "") + c.body for c in careful]
    assert quick.decode().split("\n")[:-1] == expected
    for line in careful:
        assert line.reads
        said = line.labels
        assert said == References()
        assert (line.head, line.wording) == ("", ())
        assert not any((line.opens_data, line.closes_data, line.opens_scope))


@given(MOSTLY_WORDS, st.data())
def test_what_changes_no_code_shows_elsewhere(data, draw):
    at = draw.draw(st.integers(0, len(data)))
    piece = draw.draw(st.sampled_from([b"N5", b" ", b"0", b"(A)", b"\n", b"\r", b".", b"x", b"%", b"/"]))
    changed = data[:at] + piece + data[at:]
    one, other = read(data), read(changed)
    if one.code == other.code and one.dialect == "word-address" == other.dialect:
        strands = ((r.numbering, r.wording, r.format) for r in (one, other))
        # blanks and line ends around wording and lone numbers are kept apart nowhere; the comparison says format
        assert len({*strands}) == 2 or _ink(data) == _ink(changed)


def _ink(data: bytes) -> bytes:
    return bytes(sorted(data.translate(None, b" \t\r\n")))


def _meant(data: bytes) -> list[list[tuple[str, str]]]:
    """An independent, simple-minded reading: the words of every block with the value of their numbers."""
    blocks = []
    for line in re.split(rb"[\r\n]+", data.strip(b"\0\x11\xef\xbb\xbf\x7f\r\n")):
        text = re.sub(r"\([^)]*\)|;.*", "", line.decode("latin-1")).upper()
        text = re.sub(r"^((?:/\d?)?)N\d+", r"\1", re.sub(r"[ \t]", "", text))
        words = re.findall(r"(/\d?|[A-Z]+|%)([-+.\d]*)", text)
        blocks.append([(letter, _value(letter, number)) for letter, number in words])
    return [block for block in blocks if block and block != [("%", "0")]]


def _value(letter: str, number: str) -> str:
    if letter == "G" or not number:
        return number.lstrip("0") or "0"
    turns = "-" if number.startswith("-") and letter not in "XYZIJK" and not Decimal(number) else ""
    return f"{turns}{Decimal(number).normalize() + 0:f}{'.' if '.' in number else ''}"


@given(PROGRAMS, PROGRAMS, WAYS, WAYS, st.data())
def test_equal_code_means_the_same_to_an_independent_reading(program, other, one, two, data):
    blocks = data.draw(st.lists(st.sampled_from(program + other), min_size=1, max_size=len(program)))
    first, second = written(program, one), written(blocks, two)
    same = canonical(first) == canonical(second)
    assert same == (_meant(first) == _meant(second))


def test_the_source_of_bytes_is_the_bytes():
    assert b"".join(source_of(b"abc" * 200_000).open_chunks()) == b"abc" * 200_000
