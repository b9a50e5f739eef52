"""``collect --tidy``: the office's writing around the code that came home, and never another code."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.fakes.stick_shop import StickShop, edited, exported_shop, program, renumbered
from tracker.errors import Refused
from tracker.nc.scan import identity
from tracker.services.collect_tidy import tidy

MAIN, OFFICE = "MILL2/O1001.NC", "jobs/4471/op10/O1001.nc"


@pytest.fixture
def shop() -> StickShop:
    return exported_shop()


def code(data: bytes, *, strict: bool = False) -> str:
    return identity(data, strict=strict).fingerprint


def test_the_office_text_comes_back_with_the_edit_in_it(shop):
    office = program(1001, sub=1002)
    shop.files[MAIN] = edited(renumbered(shop.files[MAIN]), (b"F15.", b"F12.5"))
    report = shop.collect(checkin="4471/op10", reason="less burr", tidy=True)
    assert shop.repo.tree().read(OFFICE) == edited(office, (b"F15.", b"F12.5"))
    (origin,) = shop.revision("4471/op10").record.origins
    assert origin.kinds == ("feed",)
    assert "O1001.nc is written the office's way; its code is the one that came home" in report.notes


def test_without_it_the_bytes_are_kept(shop):
    edit = edited(renumbered(shop.files[MAIN]), (b"F15.", b"F12.5"))
    shop.files[MAIN] = edit
    shop.collect(checkin="4471/op10", reason="less burr")
    assert shop.repo.tree().read(OFFICE) == edit


def test_comments_of_the_control_are_named_and_the_stamp_is_none(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5 (KP LESS BURR)"))
    report = shop.collect(checkin="4471/op10", reason="less burr", tidy=True)
    taken = shop.repo.tree().read(OFFICE)
    assert taken is not None
    assert b"(ID " not in taken
    lost = [note for note in report.notes if "comments written at the control" in note]
    assert lost in ([], ["comments written at the control are left out of O1001.nc: (KP LESS BURR)"])
    assert bool(lost) != (b"(KP LESS BURR)" in taken)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"F15.", b"F12.5"),
        (b"N180 G80", b"G80\r\nG0 X9."),
        (b"N150 X3.5\r\n", b""),
        (b"N110 ", b"M1\r\nN110 "),
        (b"N150 ", b"/N150 "),
        (b"G91 G28 Z0.", b"G91 G28 Z0.\r\nG28 Y0."),
    ],
)
def test_an_edit_keeps_every_other_line_of_the_office(old, new):
    office = program(1001, sub=1002)
    crlf = office.replace(b"\n", b"\r\n")
    control = edited(crlf, (old, new))
    made = tidy(office, control, strict=False)
    assert made is not None
    assert code(made.data) == code(control)
    kept = set(made.data.splitlines())
    edits = sum(line not in kept for line in office.splitlines())
    assert edits <= 1
    assert b"\r" not in made.data


@pytest.mark.parametrize(
    "control",
    [b"", b"\x00\xff\x00", b"what is this?\n", b"%\nO1001\n", b"O1001 G0 X1. (open\nM30\n"],
)
def test_what_does_not_fit_is_left_as_it_came(control):
    made = tidy(program(1001), control, strict=False)
    assert made is None or code(made.data) == code(control)


def test_a_line_somebody_jumps_to_keeps_its_number():
    office = b"%\nO1001\nN10 #1=0\nN20 G0 X1.\nN30 #1=#1+1\nIF [#1 LT 3] GOTO 20\nN40 M30\n%\n"
    control = edited(office, (b"X1.", b"X2."))
    made = tidy(office, control, strict=False)
    assert made is not None
    assert made.data == control


def test_text_that_cannot_be_tidied_is_taken_in_as_it_came(shop):
    edit = edited(shop.files[MAIN], (b"N150 X3.5\r\n", b"N150 X3.6\rN155 X3.7\r\n"))
    shop.files[MAIN] = edit
    report = shop.collect(checkin="4471/op10", reason="one hole more", tidy=True)
    taken = shop.repo.tree().read(OFFICE)
    assert taken is not None
    assert code(taken) == code(edit)
    assert (taken == edit) == any("is kept as it came" in note for note in report.notes)


LINES = st.sampled_from(
    [
        b"G0 X1.",
        b"N7 G1 Y2. F3.",
        b"(A COMMENT)",
        b"M1",
        b"/G80",
        b"/2 N5 X1",
        b"N100",
        b"GOTO 100",
        b"#1=#1+1",
        b"G65 P9001 A1.",
        b"",
        b"X-.5Y+2.0",
        b"M98 P1002 (CALL)",
        b"%",
        b"M30",
        b"g1x1",
    ]
)
TEXTS = st.builds(
    lambda lines, end: b"%" + end + b"O1001" + end + end.join(lines) + end + b"%" + end,
    st.lists(LINES, max_size=12),
    st.sampled_from([b"\n", b"\r\n"]),
)


@given(office=TEXTS, control=TEXTS, strict=st.booleans())
def test_never_another_code(office, control, strict):
    made = tidy(office, control, strict=strict)
    if made is not None:
        assert code(made.data, strict=strict) == code(control, strict=strict)


def test_what_was_taken_in_that_way_is_not_sent_to_a_collect_for_ever(shop):
    shop.files[MAIN] = edited(shop.files[MAIN], (b"F15.", b"F12.5"))
    with pytest.raises(Refused) as fault:
        shop.export()
    assert fault.value.reasons == (f"{MAIN} was changed since it was exported, or is not ours",)
    shop.collect(checkin="4471/op10", reason="less burr", tidy=True)
    lies = shop.files[MAIN]
    with pytest.raises(Refused) as fault:
        shop.export()
    assert fault.value.name == "collect-first"
    (why,) = fault.value.reasons
    assert why.startswith(f"{MAIN} has the code of 4471/op10 r2 in a writing that is in no record: ")
    assert why.endswith("then take it off by hand")
    assert shop.files[MAIN] == lies
    del shop.files[MAIN]
    shop.export()
    assert b"F15." in shop.files[MAIN]


@pytest.mark.parametrize("swap", [(), (b"F15.", b"F12.5")])
def test_a_comment_of_the_office_since_the_export_does_not_go_unsaid(shop, swap):
    shop.save(OFFICE, edited(program(1001, sub=1002), (b"N30 T3 M6", b"N30 T3 M6 (CLAMP AT LEFT)")))
    shop.check_in("4471/op10")
    shop.files[MAIN] = edited(renumbered(shop.files[MAIN]), *([swap] if swap else []))
    once_more = shop.copy()
    report = shop.collect(checkin="4471/op10", reason="less burr")
    assert b"CLAMP AT LEFT" not in shop.repo.tree().read(OFFICE)
    assert report.notes == (
        "comments of O1001.nc in r2 did not come home: (PART) (OFFICE TEXT) (CLAMP AT LEFT); --tidy keeps the office's",
    )
    report = once_more.collect(checkin="4471/op10", reason="less burr", tidy=True)
    assert b"CLAMP AT LEFT" in once_more.repo.tree().read(OFFICE)
    assert not any("did not come home" in note for note in report.notes)
