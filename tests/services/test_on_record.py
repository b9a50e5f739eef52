"""Checks that look back at what was released and proven, or around at the numbers of other jobs' programs."""

import pytest

from tests.fakes.stick_shop import JOB, StickShop, edited, program, released_shop
from tracker.errors import CouldNot, Refused
from tracker.services.naming import parse_named
from tracker.services.verify import verify

MAIN = "jobs/4471/op10/O1001.nc"
BACK = ("stops-not-as-released", "fewer-tools", "feed-or-speed-leap")
TWICE = "o-number-twice"


@pytest.fixture
def shop() -> StickShop:
    return released_shop()


def said(shop: StickShop, named: str = "4471/op10") -> dict[str, list[str]]:
    """What the rules that look beyond the text find, by rule."""
    found: dict[str, list[str]] = {}
    for one in verify(shop.desk(), parse_named(named)).operations:
        for finding in one.findings:
            if finding.rule in (*BACK, TWICE):
                found.setdefault(finding.rule, []).append(finding.message)
    return found


def unread(shop: StickShop) -> set[tuple[str, str]]:
    (one,) = verify(shop.desk(), parse_named("4471/op10")).operations
    return {(left.rule, left.why) for left in one.not_computed if left.rule in (*BACK, TWICE)}


def change(shop: StickShop, *swaps: tuple[bytes, bytes], path: str = MAIN) -> None:
    shop.save(path, edited(shop.repo.work[path], *swaps))


def test_the_text_that_was_released_and_proven_differs_in_nothing(shop):
    assert said(shop) == {}
    assert unread(shop) == set()


def test_before_anything_was_released_or_proven_nothing_is_said():
    made = StickShop()
    change(made, (b"N60 G1", b"N55 M1\nN60 G1"))
    assert said(made) == {}
    assert unread(made) == set()


def test_a_stop_that_the_release_had_not_is_told_with_its_tool_and_line(shop):
    change(shop, (b"N60 G1", b"N55 M1\nN60 G1"))
    (one,) = verify(shop.desk(), parse_named("4471/op10")).operations
    (found,) = [finding for finding in one.findings if finding.rule == "stops-not-as-released"]
    assert (found.severity, found.line, found.tool) == ("warn", 9, "3")
    assert found.message == "T3: 1 M1, release 1 has 0"


def test_a_stop_that_is_gone_is_told_where_the_tool_is_changed_to(shop):
    change(shop, (b"N60 G1", b"N55 M0\nN60 G1"))
    shop.check_in("4471/op10", reason="stop to look at the first cut")
    shop.prove("4471/op10")
    shop.release("4471")
    shop.save(MAIN, program(1001, sub=1002))
    (one,) = verify(shop.desk(), parse_named("4471/op10")).operations
    (found,) = [finding for finding in one.findings if finding.rule == "stops-not-as-released"]
    assert (found.message, found.line) == ("T3: 0 M0, release 2 has 1", 6)


def test_a_stop_in_a_called_program_counts(shop):
    change(shop, (b"N30 G2", b"N25 M1\nN30 G2"), path="jobs/4471/sub/O1002.nc")
    assert said(shop) == {"stops-not-as-released": ["T3: 1 M1, release 1 has 0"]}


def test_a_section_left_out_is_told_by_its_tool(shop):
    text = shop.repo.work[MAIN]
    section = text[text.index(b"N110 T4") : text.index(b"N190")]
    change(shop, (section, b""))
    assert said(shop) == {"fewer-tools": ["1 tools, r1 as proven has 2: T4 not used any more"]}


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (b"F15.", b"F150.", "T4: F150, r1 was proven with F15: 10 times as much"),
        (b"F15.", b"F1.5", "T4: F1.5, r1 was proven with F15: 10 times less"),
        (b"F15.", b"F75.", "T4: F75, r1 was proven with F15: 5 times as much"),
        (b"S3000", b"S300", "T3: S300, r1 was proven with S3000: 10 times less"),
        (b"F15.", b"F74.9", None),
        (b"S3000", b"S6000", None),
    ],
)
def test_a_feed_or_speed_that_leaps_is_refused(shop, old, new, words):
    change(shop, (old, new))
    assert said(shop) == ({"feed-or-speed-leap": [words]} if words else {})


def test_how_far_it_may_leap_is_the_shops(shop):
    shop.save("shop.toml", shop.repo.work["shop.toml"] + b"[checks]\nleap = 12\n")
    change(shop, (b"F15.", b"F150."))
    assert said(shop) == {}


def test_another_tool_under_the_number_is_not_compared_and_that_is_said(shop):
    tool = b'[[operations.tools]]\nnumber = 4\ndescription = "1/2 DRILL"\n'
    job = shop.repo.work["jobs/4471/job.toml"]
    shop.save(
        "jobs/4471/job.toml",
        job.replace(b'[[operations]]\nid = "op20"', tool + b'[[operations]]\nid = "op20"'),
    )
    change(shop, (b"F15.", b"F150."))
    assert said(shop) == {}
    assert ("feed-or-speed-leap", "T4 is described as another tool than in r1") in unread(shop)


def test_a_text_that_cannot_be_followed_is_not_compared_and_that_is_said(shop):
    change(shop, (b"N60 G1", b"N55 GOTO #1\nN60 G1"))
    assert said(shop) == {}
    assert {rule for rule, why in unread(shop) if why.startswith("this text could not be followed")} == set(
        BACK
    )


def test_a_section_proof_and_a_rejected_one_are_nothing_to_look_back_at():
    made = StickShop()
    made.check_in("4471/op10")
    made.prove("4471/op10", tools=("3",))
    made.prove("4471/op10", result="rejected", cause="program")
    change(made, (b"F15.", b"F150."))
    assert said(made) == {}


def test_check_in_keeps_what_was_found_and_a_release_is_refused(shop):
    change(shop, (b"F15.", b"F150."))
    (made,) = shop.check_in("4471/op10", reason="faster").checked_in
    assert [one.message for one in made.record.findings if one.rule == "feed-or-speed-leap"] == [
        "T4: F150, r1 was proven with F15: 10 times as much"
    ]
    shop.prove("4471/op10")
    assert said(shop) == {}  # proven with it: there is nothing to look back at any more
    with pytest.raises(Refused) as refused:
        shop.release("4471")
    assert any("feed-or-speed-leap" in reason for reason in refused.value.reasons)


def test_a_record_that_cannot_be_read_is_said_not_to_be_computed(shop, monkeypatch):
    def fails(*_: object) -> None:
        raise CouldNot("shallow", "the clone is shallow", fix="fetch the rest")

    monkeypatch.setattr(shop.repo, "ledger", fails)
    assert unread(shop) == {
        (rule, "the record could not be read: the clone is shallow") for rule in (*BACK, TWICE)
    }


def test_a_program_that_is_lost_is_nothing_to_look_back_at(shop, monkeypatch):
    monkeypatch.setattr("tracker.services.on_record.revision_text", _lost)
    change(shop, (b"F15.", b"F150."))
    assert said(shop) == {}


def _lost(*_: object) -> None:
    raise CouldNot("damaged", "an object is missing", fix="run proveout audit")


# -- numbers -------------------------------------------------------------------------------------------------------


def other_job(shop: StickShop, text: bytes, *, machine: str = "MILL2") -> None:
    shop.add_job("4472", "O1001.nc", text)
    path = "jobs/4472/job.toml"
    shop.save(path, shop.repo.work[path].replace(b'"MILL2"', f'"{machine}"'.encode()))
    shop.check_in("4472", reason="a bracket")


OTHER = program(1001, name="BRACKET", depth="-0.9")


def test_two_programs_of_one_number_for_one_machine_are_refused_on_both_sides(shop):
    other_job(shop, OTHER)
    assert said(shop) == {TWICE: ["O1001 is the number of 4472/op10 r1, jobs/4472/op10/O1001.nc too"]}
    assert said(shop, "4472") == {TWICE: ["O1001 is the number of 4471/op10 r1, jobs/4471/op10/O1001.nc too"]}


def test_for_other_machines_they_are_no_matter(shop):
    other_job(shop, OTHER, machine="MILL3")
    assert said(shop) == {}


def test_a_group_is_one_place(shop):
    data = shop.repo.work["shop.toml"]
    for name in (b"MILL2", b"MILL3"):
        data = data.replace(b'id = "%s"\n' % name, b'id = "%s"\ngroup = "MILLS"\n' % name)
    shop.repo.save({"shop.toml": data}, at=shop.now)
    other_job(shop, OTHER, machine="MILL3")
    assert said(shop)[TWICE] == ["O1001 is the number of 4472/op10 r1, jobs/4472/op10/O1001.nc too"]


def test_the_same_code_in_two_files_is_one_program(shop):
    other_job(shop, program(1001, sub=1002).replace(b"(OFFICE TEXT)", b"(ANOTHER TEXT)"))
    assert TWICE not in said(shop)


def test_alternatives_may_share_a_number(shop):
    shop.save("jobs/4471/job.toml", JOB.replace('machines = ["MILL3"]', 'machines = ["MILL2"]'))
    shop.check_in("4471/op10-m3", reason="for MILL2 now")
    assert said(shop) == {}
    assert said(shop, "4471/op10-m3") == {}


def test_it_may_be_waived_with_a_reason(shop):
    other_job(shop, OTHER)
    waiver = '[[operations.waivers]]\nrule = "o-number-twice"\nline = "O1001 (BRACKET)"\nreason = "never loaded together"\nby = "np"\n'
    path = "jobs/4472/job.toml"
    shop.save(path, shop.repo.work[path] + waiver.encode())
    (one,) = verify(shop.desk(), parse_named("4472")).operations
    (found,) = [finding for finding in one.findings if finding.rule == TWICE]
    assert found.waived is not None
    assert not found.stops
