import json
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tracker.services.ports_stick import Listed, Manifest
from tracker.stick.manifest import LARGEST, read, write

AT = datetime(2026, 2, 6, 9, 45, tzinfo=UTC)
ONE = Listed(
    file="O1001.NC",
    sha256="ab" * 32,
    job="4471",
    operation="op10",
    revision="r0002-7f3a09c2",
    fingerprint="cd" * 32,
    program="jobs/4471/op10/O1001.nc",
    release=1,
)
LIST = Manifest(
    stick="BLUE-1",
    machine="MILL2",
    purpose="released",
    at=AT,
    by="ss",
    until=AT.replace(month=3),
    files=(ONE, replace(ONE, file="Träger.nc", release=None)),
)


def test_what_is_written_is_read_again():
    assert read(write(LIST)) == LIST
    assert write(read(write(LIST))) == write(LIST)


def test_it_is_plain_ascii_text_in_lines():
    data = write(LIST)
    assert data.isascii()
    assert data.startswith(b'{\n "schema": "proveout/manifest/1",\n "stick": "BLUE-1"')
    assert data.endswith(b"}\n")


def test_values_of_a_later_version_are_kept():
    later = replace(LIST, extra={"place": "shelf 3"})
    assert read(write(later)) == later


def swap(old: bytes, new: bytes) -> bytes:
    data = write(LIST)
    assert old in data
    return data.replace(old, new)


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "no JSON"),
        (b"\x00\xff", "no JSON"),
        (b"[" * 100_000, "no JSON"),
        (b"{}", "another version"),
        (b"[]", "another version"),
        (swap(b"manifest/1", b"manifest/2"), "another version"),
        (swap(b'"ss"', b"7"), "by is missing"),
        (swap(b'"released"', b'"approved"'), "unknown purpose"),
        (swap(b'"2026-02-06T09:45:00Z"', b'"yesterday"'), "isoformat"),
        (swap(b'"2026-02-06T09:45:00Z"', b'"2026-02-06T09:45:00"'), "zone"),
        (swap(b'"release": 1', b'"release": true'), "release"),
        (swap(b'"file": "O1001.NC"', b'"file": "../O1001.NC"'), "no file name"),
        (swap(b'"file": "O1001.NC"', b'"file": "..\\\\O1001.NC"'), "no file name"),
        (swap(b'"file": "O1001.NC"', b'"file": ".."'), "no file name"),
        (b'{"schema": "proveout/manifest/1", "files": 3}', "stick is missing"),
        (b" " * (LARGEST + 1), "larger"),
    ],
)
def test_what_is_no_list_of_ours(data, why):
    with pytest.raises(ValueError, match=why):
        read(data)


@pytest.mark.parametrize("files", [b"3", b"[3]", b"{}"])
def test_files_must_be_a_list_of_tables(files):
    head = write(replace(LIST, files=()))
    assert b'"files": []' in head
    with pytest.raises(ValueError, match="files"):
        read(head.replace(b'"files": []', b'"files": ' + files))


@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(data):
    try:
        read(data)
    except ValueError:
        return
    raise AssertionError("random bytes are no list")


# -- what is said of texts that are not released -------------------------------------------------------------------

UNPROVEN = "UNPROVEN - FOR PROVE-OUT ONLY"
PROVING = replace(
    LIST,
    purpose="for-proving",
    files=(
        replace(ONE, release=None, unreleased=UNPROVEN),
        replace(ONE, file="P12.H", release=None, unreleased=UNPROVEN, not_in_text="hand it over in person"),
    ),
)


@pytest.mark.parametrize(
    ("purpose", "words"), [("for-proving", UNPROVEN), ("deviation", "DEVIATION - NOT RELEASED")]
)
def test_a_list_of_what_is_not_released_says_so_and_every_file_does(purpose, words):
    made = replace(
        PROVING, purpose=purpose, files=tuple(replace(one, unreleased=words) for one in PROVING.files)
    )
    body = json.loads(write(made))
    assert list(body).index("unreleased") == list(body).index("purpose") + 1
    assert body["unreleased"] == words
    assert [one["unreleased"] for one in body["files"]] == [words, words]
    assert [one.get("not_in_text") for one in body["files"]] == [None, "hand it over in person"]
    assert read(write(made)) == made


def test_one_that_may_not_run_and_still_lies_there_says_why():
    made = replace(LIST, files=(replace(ONE, may_not_run="held by dg 19 Mar 2026"),))
    assert json.loads(write(made))["files"][0]["may_not_run"] == "held by dg 19 Mar 2026"
    assert read(write(made)) == made
    assert b"may_not_run" not in write(LIST)


def test_a_list_of_what_is_released_says_nothing_of_it():
    assert b"unreleased" not in write(LIST)
    assert b"not_in_text" not in write(LIST)


OF_BEFORE = b"""{
 "schema": "proveout/manifest/1",
 "stick": "BLUE-1",
 "machine": "MILL2",
 "purpose": "for-proving",
 "at": "2026-02-06T09:45:00Z",
 "by": "ss",
 "until": "2026-02-13T09:45:00Z",
 "files": [
  {
   "file": "O1001.NC",
   "sha256": "%s",
   "job": "4471",
   "operation": "op10",
   "revision": "r0002-7f3a09c2",
   "fingerprint": "%s",
   "program": "jobs/4471/op10/O1001.nc"
  }
 ]
}
""" % (64 * b"a", 64 * b"b")


def test_a_list_that_was_written_before_these_words_is_read():
    found = read(OF_BEFORE)
    assert (found.purpose, found.until, found.extra) == ("for-proving", AT.replace(day=13), {})
    assert [(one.file, one.unreleased, one.not_in_text) for one in found.files] == [("O1001.NC", None, None)]


def test_keys_of_a_later_version_at_a_file_are_passed_over():
    """As a reader from before passes over these words."""
    later = OF_BEFORE.replace(b'"file": "O1001.NC",', b'"file": "O1001.NC",\n   "place": "shelf 3",')
    assert read(later) == read(OF_BEFORE)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"purpose": "for-proving",', b'"purpose": "for-proving", "unreleased": 1,'),
        (b'"file": "O1001.NC",', b'"file": "O1001.NC", "unreleased": null,'),
        (b'"file": "O1001.NC",', b'"file": "O1001.NC", "not_in_text": true,'),
    ],
)
def test_these_words_are_text(old, new):
    assert old in OF_BEFORE
    with pytest.raises(ValueError, match="no text"):
        read(OF_BEFORE.replace(old, new))
