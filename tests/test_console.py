"""What reaches a screen: any code page, any width, a terminal or none."""

import os
import re
import select
import subprocess
import sys
import time
from functools import partial
from pathlib import Path

import pytest

from tests.fakes.busy_shop import BusyShop, ByteShop, good_calls, job_path, program_path, program_text
from tracker.cli.verbs import VERBS

START = (sys.executable, "-c", "import sys; from tracker.cli.entry import main; sys.exit(main())")
PROJECT = Path(__file__).resolve().parent.parent
NAMES = [verb.name for verb in VERBS]
ODD_TEXT = "(СВЕРЛО [12] ; Ø8 {bold} [red])\n#100=[#1+[2*3]]\n(中村)"
ODD_NAME = "Żółć 工場 [bold]Ø[/bold]; (x)"
# verbs whose good call is tried as a person types it; the rest writes bytes or makes a shop of its own
SHOWN = [name for name in NAMES if name not in ("demo", "normalize", "init")]


@pytest.fixture(scope="module")
def kept(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("console") / "kept"


@pytest.fixture
def shop(kept, capsysbinary, monkeypatch, tmp_path) -> ByteShop:
    """The busy shop with odd letters and brackets in every name and text that people write; made once."""
    odd = kept.with_name("odd")
    make = partial(ByteShop, capsys=capsysbinary, monkeypatch=monkeypatch)
    if not odd.exists():
        with_odd_words(BusyShop(kept).copy(tmp_path / "half done", make))
        (tmp_path / "half done").rename(odd)
    return BusyShop(odd).copy(tmp_path / "here", make)


def with_odd_words(found: ByteShop) -> None:
    text = (found.folder / "shop.toml").read_text(encoding="utf-8").replace("Test shop", ODD_NAME)
    found.put("shop.toml", text.replace("Nora Pencil", "Łukasz 中村 [x]"))
    found.run("checkin", "shop.toml", "-m", f"renamed {ODD_NAME}", "--by", "dg")
    for job in ("4476", "4477"):
        path = found.folder / job_path(job)
        found.put(job_path(job), path.read_text(encoding="utf-8") + f'description = "{ODD_NAME}"\n')
    found.put(program_path("4476"), program_text("4476").replace("(PART 4476)", ODD_TEXT))
    found.put(program_path("4477"), program_text("4477").replace("(PART 4477)", ODD_TEXT))
    found.run("checkin", "4477", "-m", ODD_NAME, "--by", "np")


def world(**more: str) -> dict[str, str]:
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHONIOENCODING", "PYTHONUTF8"))}
    return kept | {"PYTHONPATH": str(PROJECT)} | more


def start(folder: Path, *words: str, **more: str) -> tuple[int, bytes, bytes]:
    done = subprocess.run(
        [*START, *words],
        cwd=folder,
        env=world(**more),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        check=False,
    )
    assert b"Traceback" not in done.stdout + done.stderr
    return done.returncode, done.stdout, done.stderr


CP1252 = {"PYTHONIOENCODING": "cp1252", "PYTHONUTF8": "0"}


# -- code pages -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["", *NAMES])
def test_help_is_plain_ascii_at_80_columns(tmp_path, name):
    got, out, err = start(tmp_path, *([name] if name else []), "--help", COLUMNS="80", **CP1252)
    assert (got, err) == (0, b"")
    text = out.decode("ascii")
    assert "Usage: proveout" in text
    assert max(map(len, text.splitlines())) <= 80
    assert b"\x1b" not in out


@pytest.mark.parametrize("name", SHOWN)
def test_a_windows_console_shows_every_answer(shop, name):
    words = good_calls(shop)[name]
    if name in ("prove", "show"):
        words = [word.replace("4477/op10@r1", "4477").replace("4471/op10@r1", "4477") for word in words]
    got, out, err = start(shop.folder, *words, **CP1252)
    assert got == (1 if name == "doctor" else 0), err
    assert out.decode("cp1252").strip() or name == "gate"
    assert b"\x1b" not in out + err


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "ascii", "utf-8"])
def test_odd_letters_are_shown_as_far_as_the_code_page_goes(shop, encoding):
    words = ["compare", program_path("4471"), program_path("4477"), "--all"]
    got, out, _ = start(shop.folder, *words, PYTHONIOENCODING=encoding, PYTHONUTF8="0")
    assert got == 0
    text = out.decode(encoding)
    assert "#100=[#1+[2*3]]" in text
    got, out, _ = start(shop.folder, "history", "4477", PYTHONIOENCODING=encoding, PYTHONUTF8="0")
    text = " ".join(out.decode(encoding).split())
    assert (got, "[bold]" in text, "; (x)" in text) == (0, True, True)
    assert ("工場" in text) == (encoding == "utf-8")


def test_an_error_about_an_odd_name_reaches_a_windows_console(shop):
    got, out, err = start(shop.folder, "show", "工場/op10", **CP1252)
    assert (got, out) == (2, b"")
    assert err.decode("cp1252").splitlines()[0].endswith("]")
    got, out, _ = start(shop.folder, "identify", "工場.nc", "--json", **CP1252)
    assert got == 2
    assert b'"missing-file"' in out


def test_standings_and_verdicts_are_ascii(shop):
    _, out, _ = start(shop.folder, "status", PYTHONIOENCODING="utf-8")
    rows = [line for line in out.decode().splitlines() if re.match(r"\d{4}/", line)]
    assert len(rows) == 9
    assert all(row.isascii() for row in rows)


# -- no terminal ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["status", "compare", "release", "audit", "explain"])
def test_no_colour_off_a_terminal_even_where_it_is_forced(shop, name):
    got, out, err = start(shop.folder, *good_calls(shop)[name], FORCE_COLOR="1", TERM="xterm-256color")
    assert (got, b"\x1b" in out + err) == (0, False)


@pytest.mark.parametrize("name", ["review", "countersign", "release", "withdraw"])
def test_nobody_is_asked_off_a_terminal(shop, name):
    before = shop.git("rev-parse", "HEAD")
    words = [word for word in good_calls(shop)[name] if word != "--yes"]
    got, out, err = start(shop.folder, *words)
    assert (got, out) == (2, b"")
    assert b"[not-a-terminal]" in err
    assert b"--yes" in err
    assert shop.git("rev-parse", "HEAD") == before


@pytest.mark.parametrize(
    "name", ["status", "history", "audit", "doctor", "export", "review", "checkin", "release"]
)
def test_80_columns(shop, name):
    """Longer are only lines that are copied (a command, a path)."""
    _, out, _ = start(shop.folder, *good_calls(shop)[name], COLUMNS="80", PYTHONIOENCODING="utf-8")
    long = [line for line in out.decode().splitlines() if len(line) > 80]
    assert [line for line in long if not re.search(r"proveout |git |/\S+$|/\S+\)$", line)] == []


def test_commands_in_what_comes_next_are_whole_in_a_pipe(shop):
    _, out, _ = start(shop.folder, "status", PYTHONIOENCODING="utf-8")
    commands = re.findall(r"next: (proveout .*)", out.decode())
    assert len(commands) >= 6
    for command in commands:
        assert command.count('"') % 2 == 0
        assert re.fullmatch(r"proveout [a-z]+ \d{4}\b.*", command), command


# -- a terminal -------------------------------------------------------------------------------------------------------

on_a_terminal = pytest.mark.skipif(
    sys.platform == "win32", reason="Windows has no pseudo-terminals to test with"
)


def on_terminal(folder: Path, *words: str, typed: str = "", **more: str) -> tuple[int, str]:
    """Run on a pseudo-terminal of 80 columns; exit status and all that was shown."""
    import fcntl
    import pty
    import struct
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    env = world(**({"TERM": "xterm-256color"} | more))
    with subprocess.Popen(
        [*START, *words], cwd=folder, env=env, stdin=theirs, stdout=theirs, stderr=theirs
    ) as run:
        os.close(theirs)
        os.write(ours, typed.encode())
        shown = b""
        end = time.monotonic() + 60
        while time.monotonic() < end:
            if not select.select([ours], [], [], 1)[0]:
                continue
            try:
                part = os.read(ours, 65536)
            except OSError:  # Linux: the other side has closed
                break
            if not part:
                break
            shown += part
        status = run.wait(timeout=60)
    os.close(ours)
    return status, shown.decode("utf-8", "replace").replace("\r\n", "\n")


def accents(text: str) -> set[str]:
    """The ways of drawing that were switched on (0 switches them off)."""
    return {code for code in re.findall(r"\x1b\[([0-9;]*)m", text) if code not in ("", "0")}


@on_a_terminal
@pytest.mark.parametrize("name", ["status", "compare", "show", "history", "audit", "doctor", "explain"])
def test_one_accent_at_most(shop, name):
    status, text = on_terminal(shop.folder, *good_calls(shop)[name])
    assert status == (1 if name == "doctor" else 0)
    assert len(accents(text)) <= 1
    assert text.strip()


@on_a_terminal
@pytest.mark.parametrize("more", [{"NO_COLOR": "1"}, {"TERM": "dumb"}, {}])
def test_no_colour_where_it_is_not_wanted(shop, more):
    words = ["status"] if more else ["--no-color", "status"]
    status, text = on_terminal(shop.folder, *words, **more)
    assert (status, "\x1b" in text) == (0, False)
    status, text = on_terminal(
        shop.folder, *good_calls(shop)["compare"], *([] if more else ["--no-color"]), **more
    )
    assert (status, "\x1b" in text) == (0, False)


@on_a_terminal
@pytest.mark.parametrize("typed", ["\n", "n\n", "no\n"])
@pytest.mark.parametrize("name", ["review", "countersign", "release", "withdraw"])
def test_a_question_is_answered_with_no_unless_yes_is_typed(shop, name, typed):
    before = shop.git("rev-parse", "HEAD")
    words = [word for word in good_calls(shop)[name] if word != "--yes"]
    status, text = on_terminal(shop.folder, *words, typed=typed)
    assert status == 1, text
    assert "[y/N]" in text
    assert "[not-signed]" in text
    assert shop.git("rev-parse", "HEAD") == before


@on_a_terminal
@pytest.mark.parametrize("name", ["review", "countersign", "release", "withdraw"])
def test_yes_does_it(shop, name):
    before = shop.git("rev-parse", "HEAD")
    words = [word for word in good_calls(shop)[name] if word != "--yes"]
    status, text = on_terminal(shop.folder, *words, typed="y\n")
    assert status == 0, text
    assert shop.git("rev-parse", "HEAD") != before


@on_a_terminal
def test_a_terminal_that_is_closed_while_it_asks_writes_nothing(shop):
    before = shop.git("rev-parse", "HEAD")
    words = [word for word in good_calls(shop)["release"] if word != "--yes"]
    status, text = on_terminal(shop.folder, *words, typed="\x04")
    assert status in (1, 130), text
    assert shop.git("rev-parse", "HEAD") == before
