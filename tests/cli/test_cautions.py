"""Every caution, as the verbs print it on a terminal of 80 columns: three lines at the most, said where it belongs."""

import pytest

from tests.cli.test_verbs_of_proof import FULL, SIGN, answers
from tests.fakes.floor import Floor
from tests.fakes.stick_shop import StickShop, released_shop
from tracker.cli.entry import main
from tracker.cli.frame import Frame
from tracker.policy.states import PRECEDENCE
from tracker.reports import cautions
from tracker.reports.cautions import MOTION
from tracker.reports.table import folded
from tracker.services.prove_words import proving_words

COLUMNS = 80
WORDS = sorted(value for name, value in vars(cautions).items() if name.isupper())


@pytest.fixture
def shop(monkeypatch, tmp_path) -> StickShop:
    made = released_shop()
    monkeypatch.setattr(Frame, "desk", lambda self: made.desk())
    monkeypatch.setenv("COLUMNS", str(COLUMNS))
    (tmp_path / "stick").mkdir()
    return made


def lines_of(text: str, said: str) -> int:
    """How many lines of ``text`` the sentence takes; fails where it is not said."""
    lines = text.splitlines()
    assert all(len(line) <= COLUMNS for line in lines if line[:20] and line[:20] in said)
    for first in range(len(lines)):
        for count in range(1, 6):
            if " ".join(lines[first : first + count]).endswith(said) and said.startswith(lines[first][:20]):
                return count
    raise AssertionError(f"not said: {said}")


@pytest.mark.parametrize(
    "said", [*WORDS, *(proving_words("LATHE-2-BIG", "r123-7f3a09c2", one) for one in PRECEDENCE)]
)
def test_every_caution_fits_three_lines(said):
    assert len(folded(said, COLUMNS)) <= 3


def test_export(shop, tmp_path, capsys):
    words = ["export", "--machine", "MILL2", "--to", str(tmp_path / "stick"), "--by", "ss"]
    assert main(words) == 0
    assert lines_of(capsys.readouterr().out, MOTION) <= 3


def test_export_for_proving(shop, tmp_path, capsys):
    words = ["export", "--for-proving", "4471/op10-m3", "--machine", "MILL3", "--to", str(tmp_path / "stick")]
    assert main([*words, "--by", "kp"]) == 0
    out = capsys.readouterr().out
    assert lines_of(out, MOTION) <= 3
    assert lines_of(out, proving_words("MILL3", "r1", "unproven")) <= 3


def test_identify_says_it_only_where_motion_may_follow(shop, tmp_path, capsys):
    stick = str(tmp_path / "stick")
    assert main(["export", "--machine", "MILL2", "--to", stick, "--by", "ss"]) == 0
    words = ["export", "--for-proving", "4471/op10-m3", "--machine", "MILL3", "--to", stick, "--by", "kp"]
    assert main(words) == 0
    capsys.readouterr()
    assert main(["identify", f"{stick}/MILL2/O1001.NC", "--machine", "MILL2"]) == 0
    assert lines_of(capsys.readouterr().out, MOTION) <= 3
    main(["identify", f"{stick}/MILL3/FOR-PROVING/O1001.NC", "--machine", "MILL3"])
    out = capsys.readouterr().out
    assert "MAY NOT RUN on MILL3: went out for its prove-out only" in out
    assert lines_of(out, MOTION) <= 3
    shop.hold("4471/op10")
    main(["identify", f"{stick}/MILL2/O1001.NC", "--machine", "MILL2"])
    out = capsys.readouterr().out
    assert "MAY NOT RUN on MILL2" in out
    assert MOTION[:20] not in out


def test_prove(monkeypatch, tmp_path, capsys):
    floor = Floor()
    monkeypatch.setattr(Frame, "desk", lambda self: floor.desk())
    monkeypatch.setenv("COLUMNS", str(COLUMNS))
    assert main([*SIGN, "--accept", "--answers", answers(tmp_path / "a", FULL), "--yes"]) == 0
    assert lines_of(capsys.readouterr().out, MOTION) <= 3
