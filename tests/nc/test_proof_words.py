"""The comment by which a shop says a program is good, in the ways shops write it (common practice, no source)."""

import pytest

from tracker.nc.head_words import head_words
from tracker.nc.proof_words import proof_words


@pytest.mark.parametrize(
    ("comment", "initials", "date"),
    [
        ("PROOFED KP 3-11-26", "KP", "3-11-26"),
        ("Proofed 03/11/2026 kp", "KP", "03/11/2026"),
        ("PROVEN BY K.P. 11 MAR 2026", "K.P.", "11 MAR 2026"),
        ("PROVED OUT 2026-03-11 ABC", "ABC", "2026-03-11"),
        ("FIRST PIECE OK WS", "WS", None),
        ("PROVEN", None, None),
        ("PROVE OUT 11.3.26 WS", "WS", "11.3.26"),
    ],
)
def test_what_says_so(comment, initials, date):
    (found,) = proof_words([comment])
    assert (found.initials, found.date, found.text) == (initials, date, comment)


@pytest.mark.parametrize(
    "comment",
    [
        "NOT PROVEN YET",
        "UNPROVEN - FOR PROVE-OUT ONLY",
        "NOT YET PROOFED",
        "FOR PROVE OUT",
        "PROBE",
        "4471 OP10",
        "PROOF LOAD 20 KN",
    ],
)
def test_what_does_not(comment):
    assert list(proof_words([comment])) == []


@pytest.mark.parametrize(
    ("comments", "drawing", "revision", "material", "title"),
    [
        (["PLATE", "DWG NO. 88-1 REV C"], "88-1", "C", None, "PLATE"),
        (["DRAWING: 4471/2 ISSUE 3", "MATERIAL: 6061-T6"], "4471/2", "3", "6061-T6", None),
        (["ZEICHNUNG NR 77-3", "WERKSTOFF 1.4301"], "77-3", None, "1.4301", None),
        (["DRAWING REV B"], None, "B", None, None),
        (["DRAWING ON TABLE", "  TWO   WORDS "], None, None, None, "TWO WORDS"),
        ([], None, None, None, None),
        (["DRAWING 1 REV A", "DRAWING 2 REV B"], "1", "A", None, None),
    ],
)
def test_the_words_of_a_head(comments, drawing, revision, material, title):
    found = head_words(comments)
    assert (found.drawing, found.drawing_revision, found.material, found.title) == (
        drawing,
        revision,
        material,
        title,
    )
