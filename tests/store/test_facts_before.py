"""What a hook remembers of the texts of programs is what reading them says, and speaks for these bytes alone."""

import hashlib
from dataclasses import replace

import pytest

from tests.store.shop_repo import git, opened
from tracker.nc.call import Call
from tracker.services import program_facts
from tracker.services.program_facts import facts_of
from tracker.services.rederive import rederive
from tracker.store.facts_before import facts_before, note_facts
from tracker.store.moment import moment_here
from tracker.store.noted import note_rows, noted_rows
from tracker.store.read_before import note_sound, sound_before

TEXTS = [
    b"",
    b"O1001\nG0 X1.\nM30\n",
    b"%\nO1\nM98 P1002\nG65 P9001 A1.\nM98 P51002\nM98 P#100 (BY VARIABLE)\nM97 P10\nN10 M99\nM30\n%\n",
    b"o100 sub\nG1 X1. F5.\no100 endsub\no100 call [1]\no200 call\nM2\n",
    b"O7\r\nO8\r\nM99 P20\r\n",
    "0 BEGIN PGM T\u00c4SCHE MM\r\n1 CALL PGM 7\r\n".encode("latin-1"),
    b"\x00\xff\x01binary\x85",
    b"(CALL P1002)\nG1 X1 (\\n \\t \\u0041)\nM98 P 3 \t(x)\nM30\n",
]


@pytest.fixture
def known():
    found = {}
    for text in TEXTS:
        facts = facts_of(text, found)
        for strict in (False, True):
            facts.identity(text, strict=strict)
    return found


def identities(facts):
    return {digest: one.identities for digest, one in facts.items()}


def test_what_is_written_down_is_read_again(tmp_path, known):
    assert any(one.calls for one in known.values())
    assert any(one.names_lines for one in known.values())
    assert any(it.notes for one in known.values() for it in one.identities.values())
    note_facts(str(tmp_path), known)
    again = facts_before(str(tmp_path))
    assert again == known
    assert identities(again) == identities(known)


def test_a_call_with_any_text_comes_back_as_it_was(tmp_path, known):
    text = TEXTS[1]
    digest = hashlib.sha256(text).hexdigest()
    odd = "".join(chr(code) for code in range(256)) + "\u2028\x85 \\n"
    call = Call(line=3, text=odd, word="M98", readings=((1002, 1), (2, 5100)), variable=False, doubtful=True)
    changed = {digest: replace(known[digest], calls=(call, replace(call, readings=(), variable=True)))}
    note_facts(str(tmp_path), changed)
    assert facts_before(str(tmp_path)) == changed


@pytest.mark.parametrize(
    "rows",
    [
        ["call 1 M98 00 1*1 x"],
        ["text abc"],
        ["text abc 0 1", "identity 0 short"],
        ["text abc 0 x"],
        ["text abc 0 1", "call 1 M98 0 1*1 x"],
        ["nonsense"],
        ["text abc 0 1", "note x"],
    ],
)
def test_a_note_that_was_tampered_with_out_of_shape_is_no_note(tmp_path, rows):
    note_rows(str(tmp_path), "programs-before", rows)
    assert noted_rows(str(tmp_path), "programs-before") == rows
    assert facts_before(str(tmp_path)) == {}


def test_a_note_of_another_version_or_cut_off_is_no_note(tmp_path, known):
    note_facts(str(tmp_path), known)
    path = tmp_path / "proveout" / "programs-before"
    whole = path.read_bytes()
    path.write_bytes(b"9.9.9 9" + whole[whole.index(b"\n") :])
    assert facts_before(str(tmp_path)) == {}
    path.write_bytes(whole[:-2])
    assert facts_before(str(tmp_path)) == {}


def test_what_cannot_be_written_is_not(tmp_path, known):
    (tmp_path / "proveout").write_text("a file in the way")
    note_facts(str(tmp_path), known)
    note_sound(str(tmp_path), [("aa", "shop.toml")])
    assert facts_before(str(tmp_path)) == {}
    assert sound_before(str(tmp_path)) == set()


@pytest.fixture
def shop(at_several_jobs):
    return at_several_jobs


def hooked(tags):
    here = moment_here()
    try:
        found = [rederive(here, tag) for tag in tags]
        here.note_what_was_read()
    finally:
        here.close()
    return found


def test_with_notes_and_without_the_same_is_derived(shop, monkeypatch):
    tags = opened(shop).release_tags()
    wanted = [rederive(opened(shop), tag) for tag in tags]
    assert all(one.holds for one in wanted)
    first = hooked(tags)
    read = []
    monkeypatch.setattr(program_facts, "_read", lambda *words: read.append(words))
    second = hooked(tags)
    assert read == []
    for one, other, again in zip(wanted, first, second, strict=True):
        assert one.facts == other.facts == again.facts
        assert one.reasons == other.reasons == again.reasons


def test_only_the_hook_believes_a_note(shop):
    tag = opened(shop).release_tags()[0]
    hooked([tag])
    shared = str(shop / ".git")
    lies = {
        digest: replace(
            one,
            numbers=(4711,),
            identities={strict: replace(it, fingerprint="0" * 64) for strict, it in one.identities.items()},
        )
        for digest, one in facts_before(shared).items()
    }
    assert lies
    note_facts(shared, lies)
    assert rederive(opened(shop), tag).holds
    assert not hooked([tag])[0].holds


def test_a_shop_file_found_without_a_mistake_is_noted_by_its_bytes_and_place(shop):
    hooked(opened(shop).release_tags())
    head = git(shop, "rev-parse", "HEAD:shop.toml")
    noted = sound_before(str(shop / ".git"))
    assert (head, "shop.toml") in noted
    assert {path for _, path in noted} > {"shop.toml"}
    for blob, path in noted:
        assert git(shop, "cat-file", "-t", blob) == "blob", path
