import ast
import gc
import weakref
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.nc.scan_cases import (
    EVERY_FRAGMENT,
    nasty_programs,
    raw_bytes,
    tame_programs,
)
from tracker.frozen import replace
from tracker.nc import calls, canonical, fingerprint, scan, scan_find, scan_quick
from tracker.nc.codes import PLAIN_G, PLAIN_M
from tracker.nc.identity import RULE_VERSION

ROOT = Path(__file__).resolve().parents[2]
ODD_ENDS = (b"", b"\n", b"\r", b"\r\n", b"\n\r", b"\r\r\n", b"\n\n", b" \n", b"\x00\n", b"\x1a")


def agree(data, *sizes):
    identities = {}
    for strict in (False, True):
        expected = canonical.read(data, strict=strict)
        assert scan_quick.read(data, strict=strict) == expected
        assert scan_quick.canonical(data, strict=strict) == expected.code
        identities[strict] = identity = fingerprint.identity(data, strict=strict)
        for size in sizes or (max(1, len(data)),):
            chunks = [data[at : at + size] for at in range(0, len(data), size)]
            assert scan_quick.identity_of_chunks(lambda held=chunks: held, strict=strict) == identity
    agree_at_once(data, identities[False])


def agree_at_once(data, identity):
    """What one pass tells is what identity and calls tell, each asked by itself; None says nothing."""
    both = scan.identity_and_blocks(data, identity.raw_sha256)
    if both is not None:
        assert both[0] == identity
        said = calls.calls(data), calls.program_numbers(data), calls.needs_strict(data)
        assert calls.all_said(both[1]) == said


def test_one_pass_tells_of_an_ordinary_program_all_there_is():
    ordinary = b"%\nO1001\nN10 G21 G90\nT1 M6\nN20 M98 P1002\nN30 G1 X1. (CUT)\nM30\n%\n"
    both = scan.identity_and_blocks(ordinary, "0" * 64)
    assert both is not None
    assert both[0] == replace(fingerprint.identity(ordinary), raw_sha256="0" * 64)
    called, numbers, names_lines = calls.all_said(both[1])
    assert [call.readings for call in called] == [((1002, 1),)]
    assert (numbers, names_lines) == ((1001,), False)
    assert (
        scan.identity_and_blocks(b"O1\nN10 G1\nM97 P10\n", "0" * 64) is None
    )  # its N are known after the pass
    scan.use(plain=True)
    try:
        assert scan.identity_and_blocks(ordinary, "0" * 64) is None
    finally:
        scan.use(plain=False)


def texts_of_the_rules():
    """Every text and every bytes value that the tests of the rules hold."""
    found = set()
    for path in sorted((ROOT / "tests" / "nc").glob("test_nc_*.py")):
        for part in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(part, ast.Constant) and isinstance(part.value, (str, bytes)):
                found.add(
                    part.value if isinstance(part.value, bytes) else part.value.encode("latin-1", "replace")
                )
    return sorted(found)


def corpus():
    folders = [ROOT / "tests" / "corpus", ROOT / "tests" / "nc" / "compare_texts", ROOT / "sample_repo"]
    return sorted(path for folder in folders for path in folder.rglob("*") if path.is_file())


def test_the_compiled_scanner_is_what_serves_here():
    assert scan.engine() == "compiled"
    scan.use(plain=True)
    try:
        assert scan.engine() == "plain"
        assert scan.canonical(b"G01") == b"G1\n"
    finally:
        scan.use(plain=False)
    assert scan.engine() == "compiled"


def test_both_state_the_same_rule_version():
    assert scan_quick.RULE_VERSION == RULE_VERSION


def test_every_text_of_the_rules():
    texts = texts_of_the_rules()
    assert len(texts) > 300
    for text in texts:
        agree(text, 7)
        agree(b"%\nO1\n" + text + b"\nN10 G1 X1.\n(A)\nM30\n%\n")


@pytest.mark.parametrize("path", corpus(), ids=lambda path: str(path.relative_to(ROOT)))
def test_the_corpus(path):
    data = path.read_bytes()
    agree(data, 4096, 17)
    agree(data.replace(b"\n", b"\r\n"))


@pytest.mark.parametrize("end", ODD_ENDS)
def test_every_fragment_with_every_end(end):
    for fragment in EVERY_FRAGMENT:
        text = fragment.encode("latin-1")
        agree(b"N10 G1 X1." + end + b"N20" + text + end + b"X2." + end)
        agree(text + end + b"N10G1X1.(A)" + end)


def test_every_code_is_read_alike():
    spelled = {
        *PLAIN_G,
        *PLAIN_M,
        *(f"{whole}{rest}" for whole in range(130) for rest in ("", ".0", ".1", ".10")),
    }
    for code in sorted(spelled):
        for letter in "GM":
            agree(f"N10 {letter}{code} P10 Q20 H30\nN20 {letter}0{code}(A)\nN30 X1.\n".encode())


def test_every_opening_of_a_comment_is_read_alike():
    words = [
        *(
            "MSG",
            "DEBUG",
            "PRINT",
            "LOG",
            "LOGOPEN",
            "PROBEOPEN",
            "PROBECLOSE",
            "ABORT",
            "AXIS",
            "AXIS,",
            "PY",
            "IFP1",
        ),
        "GOTO",
        "IF",
        "CALL",
        "PCALL",
        "MCALL",
        "RPT",
        "RET",
        "EXEC",
        "ERROR",
        *(
            "MDOFF",
            "WRITE",
            "WBUF",
            "REPOS",
            "DGWZ",
            "DSTOP",
            "ESTOP",
            "EDSTOP",
            "DSTBLK",
            "ESTBLK",
            "DFHOLD",
        ),
        *(
            "EFHOLD",
            "SUB1",
            "SUB 2",
            "PROBE 1",
            "OPEN P1",
            "OPENP2",
            "TOD1=",
            "TOOL=",
            "TLFD=",
            "TMZT1=",
            "ORGX54=",
        ),
        *(
            "PLCM1=",
            "GUP1=",
            "LUP1=",
            "FRO=",
            "SSO=",
            "KEY=",
            "TOR1 = 5",
            "SUB",
            "TOL",
            "A.NC",
            "A/B",
            "#<_LINE>",
        ),
        "P10=",
        "P1",
        *("UAO,1", "ROT", "END", "TAP, M8", "MIR,X", "GTO,N10"),
    ]
    for word in words:
        for text in (
            word,
            word[:-1],
            word + "X",
            " ".join(word),
            word.lower(),
            "A" + word,
            "\t" + word,
            word[1:],
        ):
            agree(f"N1 G1 ({text}) X1. (A)\n({text}\n".encode())
            agree(f"({text})\nN2 M98 ({text}) P1\nN3 M98 P1 ({text})\nM51 ({text})\nM1 ({text})\n".encode())


def test_lines_longer_than_a_page_and_files_of_many():
    agree(b"G1 X1." * 60_000 + b"\n" + b"(" + b"A" * 400_000 + b")\nN10 X2.\n", 1 << 18)
    agree(
        b"".join(b"N%d G1 X%d.0 (A)\r\n" % (n, n) for n in range(4_000)) + b"GOTO 500\r\n", 1 << 16, 1 << 20
    )


@pytest.mark.parametrize(
    "data",
    [
        b"%\r\nO1 (A)\r\nN10 G01 X1.50 (CUT) Y.5\r\n(B)(C)\r\n\r\nN20 GOTO 10\r\nM30\r\n%\r\n",
        b"O1\nN10 G1\nM97 P10\nO2\nN10 G1 (OPEN\nN20 X1. (A)\nM99\n",
        b"G10 L50\nN1 R5\n(A)\nG11\nN10 X1.\n; text\nN20 X2.",
        b"\xef\xbb\xbfG1\n\x00N10 X1.\r\r\n",
    ],
)
def test_a_border_of_chunks_at_every_byte(data):
    for strict in (False, True):
        expected = fingerprint.identity(data, strict=strict)
        for at in range(len(data) + 1):
            chunks = [data[:at], data[at:]]
            assert scan_quick.identity_of_chunks(lambda held=chunks: held, strict=strict) == expected
    agree(data, 1, 2, 3, 5)


@settings(max_examples=300, deadline=None)
@given(tame_programs, st.integers(1, 60))
def test_programs_that_look_real(data, size):
    agree(data, size)


@settings(max_examples=300, deadline=None)
@given(nasty_programs, st.integers(1, 60))
@example(b"N20  O1 N999999999(\x07BELL)\r\nM97P20\r\n", 9)
@example(b"N10 O100M01 N-1\nN30 GOTO10\n", 9)
@example(b" %%\nN20 (A)B)\nN30 \nN10 \nX1.\nX2.\nX3.\nX4.\nX5.\nX6.\n", 9)
def test_programs_made_to_be_hard(data, size):
    agree(data, size)


@settings(max_examples=200, deadline=None)
@given(raw_bytes, st.integers(1, 60))
def test_any_bytes(data, size):
    agree(data, size)


@settings(max_examples=150, deadline=None)
@given(st.one_of(tame_programs, nasty_programs))
def test_calls_and_program_numbers(data):
    compiled = calls.calls(data), calls.program_numbers(data), calls.needs_strict(data)
    scan.use(plain=True)
    try:
        assert (calls.calls(data), calls.program_numbers(data), calls.needs_strict(data)) == compiled
    finally:
        scan.use(plain=False)


@settings(max_examples=200, deadline=None)
@given(st.one_of(tame_programs, nasty_programs, raw_bytes))
def test_a_program_that_may_not_call_does_not(data):
    scan.use(plain=True)
    try:
        found = calls.calls(data)
    finally:
        scan.use(plain=False)
    assert scan.may_call(data) or found == ()


@pytest.mark.parametrize(
    "line",
    ["M98P1", "m 098 P1", "M9 8 P1 *", "M(A)98 P1", "M0(A)98P1", "G065 P1", "g 6(B)6 P1 *", "o1 call", "C A L L *", "M198P1",
     "M96P1", "M97P1", "*M98P1"],
)  # fmt: skip
def test_a_call_is_suspected_however_it_is_written(line):
    assert scan.may_call(b"G1 X1.\n" + line.encode() + b"\nM30\n")


def test_a_program_without_a_call_is_known_as_such():
    assert not scan.may_call(b"O1\nN10 G1 X6.5 M9\nG43 H1 M6 T98 (CARS)\nM30\nG60\nM9\n8")


def test_two_programs_side_by_side(monkeypatch):
    monkeypatch.setattr(scan_quick, "SIDE_BY_SIDE", 0)
    one, other = b"N10 G01 X1.50\nGOTO 10\n", b"G1 X2. (OPEN\n(A)\n"
    assert scan.read_both(one, other) == (canonical.read(one), canonical.read(other))
    assert scan.read_both(one, other, strict=True) == (
        canonical.read(one, strict=True),
        canonical.read(other, strict=True),
    )


def test_a_fault_beside_comes_out_in_front(monkeypatch):
    def broken(data, *, strict):
        if data == b"A":
            raise MemoryError
        return data

    monkeypatch.setattr(scan_quick, "SIDE_BY_SIDE", 0)
    monkeypatch.setattr(scan_quick, "read", broken)
    for pair in ((b"A", b"B"), (b"B", b"A")):
        with pytest.raises(MemoryError):
            scan_quick.read_both(*pair, strict=False)


def test_what_read_a_program_goes_with_the_answer_and_waits_for_no_collector(monkeypatch):
    passes = []

    class Seen(scan_quick.Pass):
        def __init__(self, **how):
            super().__init__(**how)
            passes.append(weakref.ref(self))

    monkeypatch.setattr(scan_quick, "Pass", Seen)
    gc.disable()
    try:
        assert scan.identity(b"O1\nN10 G1 X1.\nGOTO 10\n").blocks == 3
        assert scan.identity_and_blocks(b"O1\nN10 G1 X1.\n", "") is not None
        assert [one() for one in passes] == [None] * len(passes)
        assert len(passes) >= 2
    finally:
        gc.enable()


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.sampled_from([b"T1", b"M6", b"X1.", b"\n", b"", b"T", b"G43", b"M60"]), max_size=40).map(
        b"".join
    ),
    st.lists(st.sampled_from([b"T", b"M6", b"G4", b"X1.\nT"]), max_size=3),
    st.integers(0, 40),
)
def test_finding_blocks(code, needles, block):
    compiled = scan_find.spans_holding(code, needles), scan_find.start_of(code, block)
    scan.use(plain=True)
    try:
        assert (scan_find.spans_holding(code, needles), scan_find.start_of(code, block)) == compiled
    finally:
        scan.use(plain=False)


def test_a_file_that_cannot_be_read_raises_what_the_reader_raised():
    def broken():
        yield b"G1\n"
        raise OSError(5, "Input/output error")

    with pytest.raises(OSError, match="Input/output"):
        scan.identity_of_chunks(broken)


def test_the_dictionary_is_the_record():
    for plain in (False, True):
        scan.use(plain=plain)
        try:
            fields = scan.identity_fields(lambda: (b"N10 G1\nG1 (OPEN\n",))
            identity = scan.identity(b"N10 G1\nG1 (OPEN\n")
        finally:
            scan.use(plain=False)
        assert list(fields) == [
            "fingerprint", "raw_sha256", "bytes", "blocks", "dialect", "rule_version", "notes",
        ]  # fmt: skip
        assert fields == {name: getattr(identity, name) for name in fields} | {"notes": list(identity.notes)}
