"""Folders of whole files, named after the fault: good ones hold one code, bad ones as many codes as files."""

from pathlib import Path

import pytest

from tracker.nc.canonical import canonical, read
from tracker.nc.fingerprint import identity

CORPUS = Path(__file__).resolve().parent.parent / "corpus"
GOOD = sorted((CORPUS / "good").iterdir())
BAD = sorted((CORPUS / "bad").iterdir())
FILES = sorted(CORPUS.glob("*/*/*.nc"))


def prints(folder):
    return {path.name: identity(path.read_bytes()).fingerprint for path in sorted(folder.glob("*.nc"))}


@pytest.mark.parametrize("folder", GOOD, ids=lambda path: path.name)
def test_the_files_of_a_good_folder_are_one_code(folder):
    found = prints(folder)
    assert len(found) > 1
    assert len(set(found.values())) == 1, found


@pytest.mark.parametrize("folder", BAD, ids=lambda path: path.name)
def test_no_two_files_of_a_bad_folder_are_one_code(folder):
    found = prints(folder)
    assert len(found) > 1
    assert len(set(found.values())) == len(found), found


@pytest.mark.parametrize("folder", GOOD + BAD, ids=lambda path: path.name)
def test_every_folder_says_why(folder):
    assert (folder / "reason.txt").read_text(encoding="ascii").strip()
    assert {path.suffix for path in folder.iterdir()} == {".txt", ".nc"}


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_a_canonical_form_is_its_own(path):
    code = canonical(path.read_bytes())
    assert canonical(code) == code


@pytest.mark.parametrize("folder", GOOD, ids=lambda path: path.name)
def test_the_files_of_a_good_folder_are_word_address_and_need_no_note(folder):
    for path in folder.glob("*.nc"):
        reading = read(path.read_bytes())
        assert (reading.dialect, reading.notes) == ("word-address", ())
