"""export, collect and identify as typed: a repository in memory, a real folder as the stick."""

import io
import json
import sys

import pytest

from tests.cli.test_json_shapes import faults
from tests.fakes.stick_shop import StickShop, edited, program, released_shop, renumbered
from tests.fakes.typed import Typed
from tracker.cli.entry import main
from tracker.cli.frame import Frame
from tracker.reports.cautions import MOTION, NO_DIFFERENCE
from tracker.reports.json_shapes import SHAPES, shape
from tracker.services.prove_words import proving_words


@pytest.fixture
def shop(monkeypatch) -> StickShop:
    made = released_shop()
    monkeypatch.setattr(Frame, "desk", lambda self: made.desk())
    return made


@pytest.fixture
def stick(tmp_path):
    folder = tmp_path / "stick of J\u00fcrgen" / "BLUE-1"
    folder.mkdir(parents=True)
    return folder


@pytest.fixture
def call(capsys):
    def run(*words: object, status: int = 0) -> str:
        got = main([str(word) for word in words])
        out, err = capsys.readouterr()
        assert got == status, out + err
        assert "Traceback" not in err
        return out if status == 0 or not err else out + err

    return run


@pytest.fixture
def as_json(call):
    def run(*words: object, status: int = 0) -> dict:
        return json.loads(call(*words, "--json", status=status))

    return run


def exported(call, stick, *more: object) -> str:
    return call("export", "--machine", "MILL2", "--to", stick, "--by", "ss", *more)


def test_export_as_text(shop, call, stick):
    text = exported(call, stick)
    mark = shop.revision("4471/op10").record.operation_fingerprint[:8].upper()
    assert text.startswith("Written for MILL2 to BLUE-1, folder MILL2, 6 Feb 2026 08:01 +00:00:\n")
    assert f"MILL2/O1001.NC  new  4471/op10  r1   {mark}  1\n" in text
    assert f"4471/op10 r1 (id {mark}): PROVEN by ss 1 Feb 2026 on MILL2" in text
    assert " ".join(MOTION.split()) in " ".join(text.split())
    assert text.isascii()
    assert "safe " not in text.replace("local safety rules", "")
    assert sorted(path.name for path in (stick / "MILL2").iterdir()) == [
        "O1001.NC",
        "O1002.NC",
        "O1003.NC",
        "PROVEOUT.JSON",
        "READ-ME.TXT",
    ]
    assert "MILL2, BLUE-1: 3 programs may run (3 new). Nothing to decide.\n" in text


def test_what_is_told_of_a_stick_before_a_run_keeps_to_the_width(shop, call, stick, capsys, monkeypatch):
    exported(call, stick)
    (stick / "MILL2" / "O1003.NC").unlink()
    manifest = stick / "MILL2" / "PROVEOUT.JSON"
    manifest.write_bytes(manifest.read_bytes() + b" ")
    monkeypatch.setenv("COLUMNS", "60")
    words = ["ran", str(stick / "MILL2"), "--machine", "MILL2", "--by", "kp", "--yes"]
    assert main(words) == 0
    told = capsys.readouterr().err.splitlines()
    assert told[0] == "4471/op10 r1 on MILL2: O1001.NC, O1002.NC"
    assert told[1].startswith("note: PROVEOUT.JSON: ")
    assert len(told) > 2
    assert [line for line in told if len(line) > 60] == []


def test_export_as_json(shop, as_json, stick):
    shop.hold("4471/op20")
    said = as_json("export", "--machine", "MILL2", "--to", stick, "--by", "ss")
    assert next(iter(said)) == "schema"
    assert said["schema"] == "proveout/export/1"
    assert (said["machine"], said["stick"], said["purpose"], said["dry_run"]) == (
        "MILL2",
        "BLUE-1",
        "released",
        False,
    )
    assert [(one["file"], one["revision"], one["release"]) for one in said["files"]] == [
        ("MILL2/O1001.NC", "r1", 1),
        ("MILL2/O1002.NC", "r1", 1),
    ]
    (out,) = said["left_out"]
    assert (out["job"], out["operation"], out["revision"]) == ("4471", "op20", "r1")
    assert "gauge out of calibration" in out["reason"]
    assert said["record"].endswith("-export-MILL2-ss.toml")
    assert said["cautions"] == [MOTION]


def test_export_says_what_is_left_out_and_called_in(shop, call, stick):
    exported(call, stick)
    shop.hold("4471/op20")
    text = call("export", "--machine", "MILL2", "--to", stick, "--by", "ss", status=1)
    assert (
        "2 programs may run (2 same), 1 operation left out. 1 thing to decide.\nDECIDE: MILL2/O1003.NC may"
        in text
    )
    assert "LEFT OUT:\n  4471/op20 r1: held by dg" in text
    assert (
        "CALL IN - to come off the stick, and off the control:\n  BLUE-1 MILL2/O1003.NC: 4471/op20 r1, held by dg"
        in text
    )


def test_export_dry_run(shop, call, stick):
    text = exported(call, stick, "--dry-run")
    assert text.startswith("Would be written for MILL2 to BLUE-1")
    assert list(stick.iterdir()) == []


def test_export_for_proving(shop, call, as_json, stick):
    words = ["export", "--for-proving", "4471/op10-m3", "--machine", "MILL3", "--to", stick, "--by", "kp"]
    text = call(*words)
    assert " ".join(proving_words("MILL3", "r1", "unproven").split()) in " ".join(text.split())
    rows = [line.split() for line in text.splitlines() if line.startswith("MILL3/FOR-PROVING/O")]
    assert [row[-1] for row in rows] == ["UNPROVEN", "UNPROVEN"]
    assert "2 programs UNPROVEN, for a prove-out only" in text
    assert b"(UNPROVEN - FOR PROVE-OUT ONLY)" in (stick / "MILL3" / "FOR-PROVING" / "O1001.NC").read_bytes()
    told = as_json(*words)
    assert told["cautions"] == [proving_words("MILL3", "r1", "unproven"), MOTION]
    said = [(one["unreleased"], one["not_in_text"]) for one in told["files"]]
    assert said == 2 * [("UNPROVEN - FOR PROVE-OUT ONLY", None)]


@pytest.fixture
def crowded(shop, call, stick):
    """A stick with the released set, r2 of op10 for its prove-out, and a copy, a stranger and a picture elsewhere."""
    exported(call, stick)
    shop.save("jobs/4471/op10/O1001.nc", program(1001, sub=1002, depth="-0.7"))
    shop.check_in("4471/op10", reason="deeper")
    call("export", "--for-proving", "4471/op10", "--machine", "MILL2", "--to", stick, "--by", "ss")
    (stick / "O1003.NC").write_bytes((stick / "MILL2" / "O1003.NC").read_bytes())
    (stick / "MILL2" / "NOTES.TXT").write_bytes(b"mine")
    (stick / "PICTURE.PNG").write_bytes(b"png")
    return stick


COPY = "is a copy of 4471/op20 r1 outside the machines' folders: not removed, take it off by hand"


def test_the_plan_of_a_mirror_names_what_stays_and_what_lies_elsewhere(call, crowded):
    words = ["export", "--mirror", "--dry-run", "--machine", "MILL2", "--to", crowded, "--by", "ss"]
    text = call(*words, status=1)
    rows = [line.split() for line in text.splitlines()]
    assert ["MILL2/FOR-PROVING/O1001.NC", "stays", "4471/op10", "r2", "UNPROVEN"] in rows
    assert ["MILL2/FOR-PROVING/O1002.NC", "stays", "4471/op10", "r2", "UNPROVEN"] in rows
    assert text.count("UNPROVEN - FOR PROVE-OUT ONLY: stays until 13 Feb 2026") == 2
    assert ["O1003.NC", "kept,", "a", "copy"] in rows
    assert ["MILL2/NOTES.TXT", "kept,", "unknown"] in rows
    assert ["PICTURE.PNG", "kept,", "unknown"] in rows
    said = " ".join(text.split())
    assert "2 files kept UNPROVEN, 2 files kept, unknown. 2 things to decide." in said
    assert f"DECIDE: O1003.NC {COPY}" in said
    assert "DECIDE: PICTURE" not in said


def test_a_mirror_says_the_same_as_json_and_in_the_read_me(as_json, call, crowded):
    told = as_json("export", "--mirror", "--machine", "MILL2", "--to", crowded, "--by", "ss", status=1)
    said = f"schema {SHAPES['export']} signed? last_share?"
    assert list(faults(shape(said), told)) == []
    assert [(one["file"], one["operation"], one["until"]) for one in told["stays"]] == [
        (f"MILL2/FOR-PROVING/{name}", "op10", "2026-02-13T08:03:00Z") for name in ("O1001.NC", "O1002.NC")
    ]
    assert {one["unreleased"] for one in told["stays"]} == {"UNPROVEN - FOR PROVE-OUT ONLY"}
    assert told["outside"] == {
        "copies": [{"file": "O1003.NC", "reason": COPY}],
        "more_copies": 0,
        "unknown": ["PICTURE.PNG"],
        "more_unknown": 0,
        "not_looked_into": 0,
    }
    read_me = " ".join((crowded / "MILL2" / "READ-ME.TXT").read_text("ascii").split())
    assert "MILL2/FOR-PROVING/O1001.NC (4471/op10 r2): UNPROVEN - FOR PROVE-OUT ONLY: stays until" in read_me
    assert f"COPIES ELSEWHERE ON THIS STICK: not to be run from there - O1003.NC {COPY}" in read_me
    assert (crowded / "O1003.NC").exists()


def test_files_elsewhere_that_are_not_named_are_counted(shop, call, stick):
    exported(call, stick)
    for number in range(20):
        (stick / f"{number:02}.JPG").write_bytes(b"%d" % number)
    text = exported(call, stick, "--mirror", "--dry-run")
    assert text.count("kept, unknown") == 12 + 1
    assert "8 more files outside the machines' folders, in no record: kept" in text
    assert "20 files kept, unknown. Nothing to decide." in " ".join(text.split())


def test_export_wrong_calls(shop, call, stick, tmp_path):
    assert "wrong-call" in call("export", "--machine", "MILL2", "--by", "ss", status=2)
    assert "no-stick" in call(
        "export", "--machine", "MILL2", "--to", tmp_path / "none", "--by", "ss", status=2
    )
    words = [
        "export",
        "4471",
        "--for-proving",
        "4471/op10",
        "--machine",
        "MILL2",
        "--to",
        stick,
        "--by",
        "ss",
    ]
    assert "wrong-call" in call(*words, status=2)
    assert "unknown-machine" in call("export", "--machine", "M9", "--to", stick, "--by", "ss", status=2)


def test_export_of_a_job_that_is_not_released_ends_with_1(shop, call, as_json, stick):
    shop.add_job("5001", "O5001.nc", program(5001))
    shop.check_in("5001/op10")
    call("export", "4471", "5001", "--machine", "MILL2", "--to", stick, "--by", "ss", status=1)
    said = as_json("export", "5001", "--machine", "MILL2", "--to", stick, "--by", "ss", status=1)
    assert said["error"]["name"] == "nothing-to-export"
    assert said["error"]["reasons"][0].startswith("5001/op10 r1: is in no release")


def test_export_refusals_end_with_1_and_name_every_file(shop, call, stick):
    exported(call, stick)
    for name in ("O1001.NC", "O1002.NC"):
        (stick / "MILL2" / name).write_bytes(b"edited")
    text = call("export", "--machine", "MILL2", "--to", stick, "--by", "ss", status=1)
    assert "[collect-first]" in text
    assert "MILL2/O1001.NC was changed" in text
    assert "MILL2/O1002.NC was changed" in text


def test_collect_as_json_and_text(shop, call, as_json, stick):
    exported(call, stick)
    main_file = stick / "MILL2" / "O1001.NC"
    main_file.write_bytes(edited(renumbered(main_file.read_bytes()), (b"F15.", b"F12.5")))
    (stick / "MILL2" / "O1003.NC").unlink()
    said = as_json("collect", stick, "--by", "ss", status=1)
    assert list(said)[:2] == ["schema", "files"]
    assert said["schema"] == "proveout/collect/1"
    assert list(said["files"][0]) == ["file", "verdict", "job", "operation", "revision", "kinds", "message"]
    assert [(one["file"], one["verdict"], one["kinds"]) for one in said["files"]] == [
        ("MILL2/O1001.NC", "changed-code", ["format", "numbering", "slower", "wording"]),
        ("MILL2/O1002.NC", "as-exported", []),
        ("MILL2/O1003.NC", "missing", []),
    ]
    assert said["summary"] == (
        "BLUE-1: 3 files: 1 changed at the control, 1 missing, 1 as exported. 2 files to decide about."
    )
    assert said["decisions"] == [
        "MILL2/O1001.NC: changed at the control: who edited it, why, was it cut? Take it in, or take it off and export again.",
        "MILL2/O1003.NC: missing: who took it off? Export again if it is still to run.",
    ]
    text = call("collect", stick, "--by", "ss", status=1)
    assert said["summary"] in text.replace("\n", " ")
    assert "DECIDE: MILL2/O1001.NC: changed at the control:" in text
    assert "MILL2/O1001.NC  CHANGED-CODE  4471/op10 r1" in text
    assert "MILL2/O1001.NC, was 4471/op10 r1:\n  T4 slower: N140 G83 Z-0.5 R0.1 Q0.15 F15. ->" in text
    assert "--checkin 4471/op10" in text
    assert text.isascii()


def test_collect_ends_with_1_while_a_person_must_decide(shop, call, stick):
    exported(call, stick)
    text = call("collect", stick, "--by", "ss")
    assert text.endswith("BLUE-1: 3 files: 3 as exported. Nothing to decide.\n")
    shop.hold("4471/op20")
    text = call("collect", stick, "--by", "ss", status=1)
    assert "DECIDE: MILL2/O1003.NC: may not run any more: take it off the stick and the control." in text
    (stick / "MILL2" / "O1003.NC").unlink()
    call("collect", stick, "--by", "ss", status=1)


def test_what_there_is_to_decide_is_named_by_kind_and_not_a_thousand_times(shop, call, as_json, stick):
    exported(call, stick)
    for number in range(10):
        (stick / f"N{number}.TXT").write_bytes(b"hello\n")
    said = as_json("collect", stick, "--by", "ss", status=1)
    assert said["decisions"] == [
        "N0.TXT, N1.TXT, N2.TXT and 7 more: not known: whose is it? Adopt it, or take it off."
    ]


def test_collect_says_what_changed_code_does_when_asked(shop, call, as_json, stick):
    exported(call, stick)
    main_file = stick / "MILL2" / "O1001.NC"
    main_file.write_bytes(edited(main_file.read_bytes(), (b"Z-0.5", b"Z-0.55")))
    words = ["collect", stick, "--by", "ss"]
    plain = as_json(*words, status=1)
    assert "effect" not in plain["files"][0]
    said = as_json(*words, "--effect", status=1)["files"]
    deepest = [
        [tool["deepest_cut"] for tool in said[0]["effect"][side]["tools"] if tool["tool"] == "4"]
        for side in ("old", "new")
    ]
    assert deepest == [[-0.5], [-0.55]]
    assert all("effect" not in one for one in said[1:])
    text = call(*words, "--effect", status=1)
    assert "What O1001.nc does, lengths in inch, was -> is:" in text
    assert "deepest cut" in text


def test_collect_shows_a_hint_and_the_programs_of_a_dump(shop, call, as_json, stick):
    exported(call, stick)
    folder = stick / "MILL2"
    texts = [
        (folder / name).read_bytes().replace(b"%\r\n", b"") for name in ("O1001.NC", "O1002.NC", "O1003.NC")
    ]
    claimed = edited(texts[0], (b"(OFFICE TEXT)", b"(PROOFED KP 3-11-26)"))
    (folder / "ALL.TXT").write_bytes(b"%\r\n" + claimed + texts[1] + texts[2] + b"%\r\n")
    said = {one["file"]: one for one in as_json("collect", stick, "--by", "ss")["files"]}
    parts = said["MILL2/ALL.TXT"]["programs"]
    assert [one["file"] for one in parts] == [f"MILL2/ALL.TXT#O100{digit}" for digit in (1, 2, 3)]
    assert parts[0]["hint"].startswith("a comment says it was proved by KP")
    assert "hint" not in parts[1]
    assert all("programs" not in one for name, one in said.items() if name != "MILL2/ALL.TXT")
    text = call("collect", stick, "--by", "ss")
    assert "MILL2/ALL.TXT#O1001  same-code" in text
    assert "hint: MILL2/ALL.TXT#O1001: a comment says it was proved by KP" in text
    (stick.parent / "one.nc").write_bytes(b"%\r\n" + claimed + b"%\r\n")
    assert "hint: a comment says it was proved by KP" in call(
        "identify", stick.parent / "one.nc", "--machine", "MILL2"
    )
    (one,) = as_json("identify", stick.parent / "one.nc", "--machine", "MILL2")["files"]
    assert one["hint"].startswith("a comment says")


def test_collect_tidies_what_it_takes_in(shop, call, as_json, stick):
    exported(call, stick)
    main_file = stick / "MILL2" / "O1001.NC"
    main_file.write_bytes(edited(renumbered(main_file.read_bytes()), (b"F15.", b"F12.5")))
    words = ["collect", stick, "--by", "ss", "-m", "less burr", "--tidy"]
    assert "[wrong-call]" in call(*words, status=2)
    said = as_json(*words, "--checkin", "4471/op10", status=1)
    assert said["checked_in"][0]["kinds"] == ["feed"]
    assert any("is written the office's way" in note for note in said["notes"])
    (ask,) = said["decisions"]
    assert ask.startswith(
        "MILL2/O1001.NC: taken in, and written the office's way: its own bytes are in no record"
    )
    refused = call("export", "--machine", "MILL2", "--to", stick, "--by", "ss", status=1)
    assert "in a writing that is in no record" in " ".join(refused.split())


def test_collect_takes_in_what_is_much_shorter_where_somebody_says_it_is_whole(shop, call, as_json, stick):
    exported(call, stick)
    main_file = stick / "MILL2" / "O1001.NC"
    data = main_file.read_bytes()
    main_file.write_bytes(data[: data.index(b"N110")] + data[data.index(b"N200") :])
    words = ["collect", stick, "--by", "ss", "-m", "T4 is done elsewhere"]
    assert "--whole goes with --checkin  [wrong-call]" in call(*words, "--whole", status=2)
    assert "take it in with --checkin and --whole" in call(*words, status=1)
    assert "[not-whole]" in call(*words, "--checkin", "4471/op10", status=1)
    said = as_json(*words, "--checkin", "4471/op10", "--whole")
    assert said["checked_in"][0]["revision"] == "r2"
    assert said["decisions"] == []


def test_collect_takes_an_edit_in(shop, call, as_json, stick):
    exported(call, stick)
    main_file = stick / "MILL2" / "O1001.NC"
    main_file.write_bytes(edited(main_file.read_bytes(), (b"F15.", b"F12.5")))
    words = [
        "collect",
        stick,
        "--checkin",
        "4471/op10",
        "--by",
        "ss",
        "--entered-by",
        "np",
        "-m",
        "less burr",
    ]
    said = as_json(*words, "--cut")
    (made,) = said["checked_in"]
    assert (made["job"], made["operation"], made["revision"], made["kinds"]) == (
        "4471",
        "op10",
        "r2",
        ["feed", "format", "wording"],
    )
    assert said["files"][0]["verdict"] == "changed-code"
    text = call(*words, status=1)
    assert "[nothing-to-take-in]" in text
    again = as_json("collect", stick, "--by", "ss", status=1)
    assert next(one["verdict"] for one in again["files"]) == "for-proving"


def test_collect_takes_an_edit_in_as_text(shop, call, stick):
    exported(call, stick)
    main_file = stick / "MILL2" / "O1001.NC"
    main_file.write_bytes(edited(main_file.read_bytes(), (b"F15.", b"F12.5")))
    text = call("collect", stick, "--checkin", "4471/op10", "--by", "ss", "-m", "less burr")
    made = shop.revision("4471/op10").record.operation_fingerprint[:8].upper()
    said = f"4471/op10 r2 (id {made}) taken in, edited by ss; from r1: wording, format, feed (T4), slowest "
    assert said in " ".join(text.split())


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("ss\nless burr\nyes\n", "less burr; parts were cut with it"),
        ("ss\nless burr\nno\n", "less burr; no part was cut with it"),
        ("ss\nless burr\nunknown\n", "less burr"),
    ],
)
def test_collect_asks_on_a_terminal_who_why_and_whether_it_was_cut(
    shop, call, stick, monkeypatch, typed, reason
):
    exported(call, stick)
    main_file = stick / "MILL2" / "O1001.NC"
    main_file.write_bytes(edited(main_file.read_bytes(), (b"F15.", b"F12.5")))
    monkeypatch.setattr(sys, "stdin", Typed(typed))
    call("collect", stick, "--checkin", "4471/op10")
    assert shop.revision("4471/op10").record.by == "ss"
    (record,) = [one.record for one in shop.repo.ledger().records if one.record.EVENT == "collect"]
    assert record.reason == reason


def test_collect_asks_nobody_without_a_terminal(shop, call, stick):
    exported(call, stick)
    main_file = stick / "MILL2" / "O1001.NC"
    main_file.write_bytes(edited(main_file.read_bytes(), (b"F15.", b"F12.5")))
    assert "[who]" in call("collect", stick, "--checkin", "4471/op10", "-m", "x", status=2)
    assert "[no-reason]" in call("collect", stick, "--checkin", "4471/op10", "--by", "ss", status=2)


def test_collect_without_a_name_shows_and_does_not_record(shop, call, as_json, stick):
    exported(call, stick)
    said = as_json("collect", stick)
    assert (said["record"], len(said["files"])) == (None, 3)
    assert "not recorded: nobody was named" in call("collect", stick)


def test_collect_of_an_empty_stick_and_of_none(shop, call, stick, tmp_path):
    assert "The stick is empty." in call("collect", stick, "--by", "ss")
    assert "no-stick" in call("collect", tmp_path / "none", status=2)
    (tmp_path / "file").write_bytes(b"")
    assert "no-stick" in call("collect", tmp_path / "file", status=2)


def test_collect_of_a_hostile_stick_reads_nothing_outside(shop, call, as_json, stick, tmp_path):
    exported(call, stick)
    (tmp_path / "office.nc").write_bytes(program(1001, sub=1002))
    try:
        (stick / "MILL2" / "LINK.NC").symlink_to(tmp_path / "office.nc")
        (stick / "OFFICE").symlink_to(tmp_path)
    except OSError:
        pytest.skip("this system does not let us make links")
    deep = stick
    for _ in range(45):
        deep = deep / "d"
    deep.mkdir(parents=True)
    (stick / "a\nb\x1b[31m.nc").write_bytes(b"\x00" * 100)
    said = {one["file"]: one["verdict"] for one in as_json("collect", stick, "--by", "ss", status=1)["files"]}
    assert said["MILL2/LINK.NC"] == "unknown"
    assert said["OFFICE"] == "unknown"
    assert not any(name.startswith("OFFICE/") for name in said)
    assert said["a\\nb\\x1b[31m.nc"] == "unknown"
    assert "damaged" in {verdict for name, verdict in said.items() if name.startswith("d/d")}
    assert "\x1b" not in call("collect", stick, "--by", "ss", status=1)


def test_identify(shop, call, as_json, tmp_path):
    file = tmp_path / "X.NC"
    file.write_bytes(renumbered(program(1001, sub=1002)))
    text = call("identify", file, "--machine", "MILL2")
    assert "4471/op10 r1, id " in text
    assert NO_DIFFERENCE in text
    assert "MAY RUN on MILL2: " in text
    said = as_json("identify", file, "--machine", "MILL2")
    assert said["schema"] == "proveout/identify/1"
    (one,) = said["files"]
    assert (one["identity"], one["revision"], one["may_run"], one["release"]) == ("known", "r1", True, 1)
    assert "MAY NOT RUN: on which machine?" in call("identify", file, status=1)
    file.write_bytes(edited(program(1001, sub=1002), (b"F15.", b"F16.")))
    assert "code changed: feed" in call("identify", file, "--machine", "MILL2", status=1)
    call("identify", tmp_path / "none", "--machine", "MILL2", status=2)


def test_screens_on_a_code_page_that_lacks_letters(shop, monkeypatch, stick, capfdbinary):
    (stick / "Tr\u00e4ger \u2713.nc").write_bytes(b"%\nO9\nM30\n%\n")
    held = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(held, encoding="cp1252"))
    assert main(["collect", str(stick), "--by", "ss"]) == 1
    sys.stdout.flush()
    assert "Tr\u00e4ger ?.nc".encode("cp1252") in held.getvalue()
