import json
import re
import signal
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

from tracker import __version__
from tracker.cli import boundary, entry, fast_words
from tracker.errors import BadCall, CouldNot, Exit, Refused
from tracker.store.held_back import held_back


class Pipe:
    encoding = "utf-8"

    def write(self, text):
        raise BrokenPipeError(32, "Broken pipe")

    def flush(self):
        raise BrokenPipeError(32, "Broken pipe")


def stand_in_app(monkeypatch, run):
    app = ModuleType("tracker.cli.app")
    app.run = run
    monkeypatch.setitem(sys.modules, "tracker.cli.app", app)


def raising(fault):
    def run(words):
        raise fault

    return run


def test_an_error_is_what_where_and_fix(monkeypatch, capsys):
    fault = BadCall(
        "unknown-machine", "There is no machine MILL9.", where="shop.toml:7", fix="Name one of MILL2, MILL3."
    )
    stand_in_app(monkeypatch, raising(fault))
    assert entry.main(["history"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines() == [
        "There is no machine MILL9.  [unknown-machine]",
        "  --> shop.toml:7",
        "  fix: Name one of MILL2, MILL3.",
    ]


def test_a_refusal_lists_every_reason(monkeypatch, capsys):
    fault = Refused(
        "not-proven", "The job may not be released.", reasons=("op10 is not proven", "op20 is on hold")
    )
    stand_in_app(monkeypatch, raising(fault))
    assert entry.main(["release", "4711"]) == 1
    assert capsys.readouterr().err.splitlines()[1:] == ["  - op10 is not proven", "  - op20 is on hold"]


@pytest.mark.parametrize(
    "words", [["history", "--json"], ["--json", "history"], ["-C", ".", "history", "--json"]]
)
def test_an_error_as_one_json_object(monkeypatch, capsys, words):
    stand_in_app(
        monkeypatch, raising(CouldNot("no-shop", "This is no shop.", where="here", fix="proveout init"))
    )
    assert entry.main(words) == 4
    out, err = capsys.readouterr()
    document = json.loads(out)
    assert list(document) == ["schema", "error"]
    assert document["schema"] == "proveout/history/1"
    assert document["error"] == {
        "name": "no-shop",
        "message": "This is no shop.",
        "where": "here",
        "fix": "proveout init",
    }
    assert err == ""


def test_interrupted(monkeypatch, capsys):
    stand_in_app(monkeypatch, raising(KeyboardInterrupt()))
    assert entry.main(["history"]) == 130
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize(("code", "status"), [(None, 0), (0, 0), (2, 2), ("no good", 1)])
def test_an_exit_from_within_keeps_its_status(monkeypatch, capsys, code, status):
    stand_in_app(monkeypatch, raising(SystemExit(code)))
    assert entry.main(["history"]) == status
    assert capsys.readouterr().err == ("no good\n" if code == "no good" else "")


def test_a_closed_pipe_is_quiet_and_no_yes(monkeypatch, capsys):
    stand_in_app(monkeypatch, raising(BrokenPipeError(32, "Broken pipe")))
    monkeypatch.setattr(boundary, "_let_go_of_stdout", lambda: None)
    assert entry.main(["history"]) == 4
    assert capsys.readouterr() == ("", "")


def test_a_pipe_that_closes_at_the_last_flush(monkeypatch, capsys):
    stand_in_app(monkeypatch, lambda words: 0)
    monkeypatch.setattr(sys, "stdout", Pipe())
    assert entry.main(["history"]) == 4
    assert capsys.readouterr().err == ""


def test_nobody_listens_on_standard_error(monkeypatch):
    stand_in_app(monkeypatch, raising(Refused("not-proven", "No.")))
    monkeypatch.setattr(sys, "stderr", Pipe())
    assert entry.main(["gate-like"]) == 1


def test_a_defect_names_a_report_and_shows_no_traceback(monkeypatch, capsys, tmp_path):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    stand_in_app(monkeypatch, raising(ZeroDivisionError("by nothing")))
    assert entry.main(["history"]) == 3
    out, err = capsys.readouterr()
    assert out == ""
    assert "Traceback" not in err
    assert "[defect]" in err
    named = Path(re.search(r"--> (.*)", err).group(1))
    assert named.parent == tmp_path
    text = named.read_text(encoding="utf-8")
    assert "ZeroDivisionError: by nothing" in text
    assert "['history']" in text


def test_a_defect_whose_report_cannot_be_written(monkeypatch, capsys):
    def full(*args, **kwargs):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tempfile.NamedTemporaryFile", full)
    stand_in_app(monkeypatch, raising(ZeroDivisionError("by nothing")))
    assert entry.main(["history"]) == 3
    assert "the report file could not be written" in capsys.readouterr().err


def test_a_file_that_fails_unforeseen_is_no_defect(monkeypatch, capsys):
    stand_in_app(monkeypatch, raising(PermissionError(13, "Permission denied", "part.nc")))
    assert entry.main(["history"]) == 4
    assert "  --> part.nc" in capsys.readouterr().err


def test_a_wrong_call_that_the_full_command_line_found(monkeypatch, capsys):
    class UsageError(Exception):
        exit_code = 2

        def format_message(self):
            return "No such option: --frob"

    stand_in_app(monkeypatch, raising(UsageError()))
    assert entry.main(["history", "--frob"]) == 2
    assert capsys.readouterr().err.splitlines() == [
        "No such option: --frob  [wrong-call]",
        "  fix: See proveout history --help.",
    ]


def test_an_answer_of_no_at_a_question_of_the_full_command_line(monkeypatch, capsys):
    aborted = type("Abort", (RuntimeError,), {})
    stand_in_app(monkeypatch, raising(aborted()))
    assert entry.main(["history"]) == 130


def test_a_json_error_nobody_reads(monkeypatch, capsys):
    stand_in_app(monkeypatch, raising(Refused("not-proven", "No.")))
    monkeypatch.setattr(boundary, "_let_go_of_stdout", lambda: None)
    monkeypatch.setattr(sys, "stdout", Pipe())
    assert entry.main(["history", "--json"]) == 1


@pytest.mark.parametrize(
    ("first", "second", "heavier"),
    [
        (Exit.DONE, Exit.NO, Exit.NO),
        (Exit.BAD_CALL, Exit.NO, Exit.BAD_CALL),
        (Exit.COULD_NOT, Exit.BAD_CALL, Exit.COULD_NOT),
        (Exit.COULD_NOT, Exit.DEFECT, Exit.DEFECT),
        (Exit.DONE, Exit.DONE, Exit.DONE),
    ],
)
def test_the_worst_of_two(first, second, heavier):
    assert boundary.worst(first, second) == heavier
    assert boundary.worst(second, first) == heavier


def test_text_the_console_cannot_hold_is_escaped(monkeypatch):
    import io

    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding="cp1252", newline="\n")
    monkeypatch.setattr(sys, "stdout", stream)
    boundary.write("fr\xe4sen \u2192 \udcff\n")
    stream.flush()
    assert raw.getvalue() == b"fr\xe4sen \\u2192 \\udcff\n"


def test_version(capsys):
    assert entry.main(["--version"]) == 0
    assert capsys.readouterr().out == f"proveout {__version__}\n"


@pytest.mark.parametrize(
    ("words", "verb"),
    [
        (["fingerprint", "a"], ("fingerprint", 0)),
        (["-C", "there", "--json", "fingerprint"], ("fingerprint", 3)),
        (["--no-color", "history"], ("history", 1)),
        (["-C", "there"], ("", -1)),
        (["--help"], ("", -1)),
        ([], ("", -1)),
    ],
)
def test_the_verb_of_a_call(words, verb):
    assert fast_words.verb_of(words) == verb


@pytest.mark.parametrize(
    "words", [["fingerprint", "--help"], ["normalize", "-h"], ["checkin"], [], ["--help"]]
)
def test_what_goes_to_the_full_command_line(monkeypatch, words):
    seen = []
    stand_in_app(monkeypatch, lambda given: seen.append(given) or 0)
    assert entry.main(words) == 0
    assert seen == [words]


def test_the_words_of_the_process_are_taken_without_an_argument(monkeypatch, capsys):
    monkeypatch.setattr(sys, "argv", ["proveout", "--version"])
    assert entry.main() == 0
    assert "proveout" in capsys.readouterr().out


def test_a_reader_that_leaves_early_sees_no_complaint(tmp_path):
    program = tmp_path / "a.nc"
    program.write_bytes(b"G1 X1.\n" * 200_000)
    call = [sys.executable, "-m", "tracker", "normalize", str(program)]
    process = subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    process.stdout.read(10)
    process.stdout.close()
    complaint = process.stderr.read()
    process.stderr.close()
    assert process.wait() == 4
    assert complaint == b""


def could_not():
    raise CouldNot("git-failed", "git was ended", fix="run it again")


def test_what_goes_wrong_while_an_interrupted_call_ends_is_an_interruption():
    """A program of ours is ended by the same press of Ctrl-C, and what it leaves open is no answer of its own."""

    def left_open():
        try:
            raise KeyboardInterrupt
        finally:
            could_not()

    with pytest.raises(CouldNot) as told:
        left_open()
    assert boundary.report(told.value, ["status"]) == 130
    assert boundary.report(CouldNot("git-failed", "git was ended", fix="run it again"), ["status"]) == 4


def test_a_fault_behind_a_press_that_was_held_back_is_that_press():
    def ended(*, pressed):
        with held_back():
            if pressed:
                signal.raise_signal(signal.SIGINT)
            could_not()

    with pytest.raises(KeyboardInterrupt):
        ended(pressed=True)
    with pytest.raises(CouldNot):
        ended(pressed=False)
