"""Programs larger than memory should hold: read in pieces, with only a few of them at hand."""

import tracemalloc

from tracker.nc.fingerprint import identity, identity_of_chunks
from tracker.nc.source import PAGE

HEAD = b"%\nO1\nN1 T1 M6\n"
TAIL = b"M30\n%\n"


def pieces(count, *, jump=False):
    def open_chunks():
        yield HEAD + (b"GOTO5\nN5 G4 P1\n" if jump else b"")
        for piece in range(count):
            yield b"".join(
                b"N%d X%d.%d Z-0.%d\n" % (n + 100, n % 97, n % 7, piece % 9 + 1) for n in range(2500)
            )
        yield TAIL

    return open_chunks


def peak(open_chunks):
    tracemalloc.start()
    try:
        found = identity_of_chunks(open_chunks)
        return found, tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_memory_stays_flat_however_long_the_program_is():
    short, little = peak(pieces(20))
    long, more = peak(pieces(80))
    assert long.bytes > 3.5 * short.bytes
    assert more < 1.2 * little
    assert more < 64 * PAGE


def test_pieces_give_what_the_whole_gives():
    for jump in (False, True):
        open_chunks = pieces(8, jump=jump)
        assert identity_of_chunks(open_chunks) == identity(b"".join(open_chunks()))


def test_a_late_jump_to_an_early_line_is_found():
    early = pieces(8)
    one = b"".join(early()).replace(TAIL, b"GOTO150\n" + TAIL)
    other = one.replace(b"N150 ", b"N99999 ")
    assert identity(one).fingerprint != identity(other).fingerprint
    assert "line numbers kept as code: N150 stands more than once" in identity(one).notes
