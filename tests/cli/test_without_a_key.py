"""A shop that asks for signatures, and people without a key: every verb that records says what is missing, and leaves nothing half there.

What only stops use needs no key: it goes in, and says that it is unsigned.
"""

import json
from pathlib import Path

import pytest

from tests.cli.test_matrix_json import RECORDS
from tests.fakes.busy_shop import BusyShop, ByteShop, good_calls, program_text, prove, stick_of
from tests.store.keys import line_of, make_key

STOPS = {"hold", "withdraw"}


@pytest.fixture(scope="module")
def kept(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("without") / "kept"


@pytest.fixture
def shop(kept, capsysbinary, monkeypatch, tmp_path, outside_program) -> ByteShop:
    """dg has a key in shop.toml, the others none; this PC has nobody's."""
    outside_program("ssh-keygen")
    monkeypatch.chdir(tmp_path)
    made = BusyShop(kept).copy(tmp_path / "here", lambda folder: ByteShop(folder, capsysbinary, monkeypatch))
    text = (made.folder / "shop.toml").read_text("utf-8")
    made.key = make_key(tmp_path / "keys")
    keys = f'keys = ["{line_of(made.key)}"]\n'
    text = text.replace('email = "dg@shop.example"\n', f'email = "dg@shop.example"\n{keys}')
    made.put(
        "shop.toml",
        text.replace(
            "[[people]]", '[policy]\nsignatures = "required"\nprior_until = 2026-12-31\n[[people]]', 1
        ),
    )
    made.run("checkin", "shop.toml", "-m", "everybody signs", "--by", "dg")
    return made


def everything(shop: ByteShop) -> tuple[dict[str, bytes], str, str]:
    """Every file of the shop, the stick and beside, answers kept under the git directory, and what git says."""
    top = shop.folder.parent
    files = {
        str(path.relative_to(top)): path.read_bytes()
        for path in top.rglob("*")
        if path.is_file() and (".git" not in path.parts or "answers" in path.name)
    }
    return files, shop.git("for-each-ref"), shop.git("status", "--porcelain")


def person(words: list[str]) -> str:
    return words[words.index("--by") + 1]


def refused(shop: ByteShop, words: list[str]) -> None:
    before = everything(shop)
    status, out, err = shop.call(*words, "--json")
    assert everything(shop) == before
    error = json.loads(out)["error"]
    assert (status, error["name"], err) == (1, "no-signing-key", "")
    assert error["where"] == "shop.toml: signatures"
    by = person(words)
    keep = f"proveout install --key FILE --by {by}"
    if by == "dg":
        assert error["message"] == "records must be signed here, and this PC has no key of dg"
        assert error["fix"] == f"{keep}; or --key FILE with this call"
    else:
        assert error["message"].endswith(f"this PC has no key of {by}, nor does shop.toml list one")
        assert error["fix"].startswith(
            "ssh-keygen -t ed25519 makes a key; quality puts its .pub line into shop.toml"
        )
        assert error["fix"].endswith(f"then {keep}")


@pytest.mark.parametrize("verb", sorted(RECORDS - STOPS))
def test_a_verb_that_records_says_what_is_missing(shop, verb):
    refused(shop, good_calls(shop)[verb])


def _more(shop: ByteShop, name: str) -> list[str]:
    stick = ["--machine", "MILL2", "--to", str(stick_of(shop)), "--by", "ss", "--yes"]
    if name == "adopt":
        shop.put("old/4501/O4501.nc", program_text("4501"))
        shop.run("adopt", "old", "--plan", "plan.csv")
        return ["adopt", "--apply", "plan.csv", "--by", "np", "-m", "taken over", "--yes"]
    if name == "shop.toml":
        shop.put("shop.toml", (shop.folder / "shop.toml").read_text("utf-8").replace("Test shop", "A shop"))
        return ["checkin", "shop.toml", "-m", "a name", "--by", "dg"]
    if name == "checkin --from":
        return ["checkin", "4472", "--from", "r1", "-m", "flood again", "--by", "np", "--yes"]
    if name == "prove --prior":
        words = ("--prior", "--evidence", "folder 7", "--last-run", "2026-01-30", "--by", "ss", "--yes")
        return ["prove", "4477/op10", "--machine", "MILL2", *words]
    if name == "an unfinished proof":
        return [
            "prove",
            "4477/op10",
            "--machine",
            "MILL2",
            "--by",
            "ss",
            "--answers",
            shop.answers(),
            "--yes",
        ]
    if name == "export --for-proving":
        return ["export", "--for-proving", "4477/op10", *stick]
    if name == "export --deviation":
        return [
            "export",
            "--deviation",
            "4477/op10",
            "-m",
            "the customer's line stands still",
            "--hours",
            "2",
            *stick,
        ]
    assert name == "collect --checkin"
    file = stick_of(shop) / "MILL2/O4471.NC"
    file.write_bytes(file.read_bytes().replace(b"F15.", b"F14."))
    return [
        "collect",
        str(stick_of(shop)),
        "--checkin",
        "4471/op10",
        "--by",
        "ws",
        "-m",
        "off the control",
        "--yes",
    ]


@pytest.mark.parametrize(
    "name",
    [
        "adopt",
        "shop.toml",
        "prove --prior",
        "checkin --from",
        "an unfinished proof",
        "export --for-proving",
        "export --deviation",
        "collect --checkin",
    ],
)
def test_so_does_every_other_way_to_record(shop, name):
    refused(shop, _more(shop, name))


@pytest.mark.parametrize("verb", sorted(STOPS))
def test_a_stop_goes_in_and_says_that_it_is_unsigned(shop, verb):
    words = good_calls(shop)[verb]
    assert f"unsigned: this PC has no key of {person(words)}" in " ".join(shop.run(*words).split())


def test_a_rejection_goes_in_and_says_that_it_is_unsigned(shop):
    words = [one for one in prove(shop, "4477") if one not in ("--accept", "--first-piece", "report 2231")]
    said = shop.run(*words, "--reject", "--cause", "program")
    assert "unsigned: this PC has no key of ss" in " ".join(said.split())
    (row,) = (one for one in shop.rows() if one["job"] == "4477")
    assert row["standing"] == "rejected"


def test_what_the_words_say_puts_it_right(shop, tmp_path):
    """ss makes a key, quality lists it, this PC keeps it; and the same call goes through."""
    call = good_calls(shop)["prove"]
    refused(shop, call)
    new = make_key(tmp_path / "keys", "ss")
    text = (shop.folder / "shop.toml").read_text("utf-8")
    mail = 'email = "ss@shop.example"\n'
    shop.put("shop.toml", text.replace(mail, f'{mail}keys = ["{line_of(new)}"]\n'))
    shop.run("install", "--key", str(shop.key), "--by", "dg")
    shop.run("checkin", "shop.toml", "-m", "a key of ss", "--by", "dg")
    shop.run("install", "--key", str(new), "--by", "ss")
    assert "signed (key SHA256:" in shop.run(*call)
    (row,) = (one for one in shop.rows() if one["job"] == "4477")
    assert row["standing"] == "proven"


def doctors(shop: ByteShop, name: str) -> dict[str, str]:
    (point,) = (one for one in shop.json("doctor", status=1)["points"] if one["point"] == name)
    return point


def test_doctor_says_whose_key_is_missing(shop):
    shop.git("config", "user.email", "ss@shop.example")
    shop.run("install")
    point = doctors(shop, "key")
    assert (point["state"], point["fix"]) == ("off", "proveout install --key FILE --by ss")
    assert point["says"] == "this PC has no key of ss: only a hold, a withdrawal or a rejection is taken"
    assert "shop.toml has no key of np, ws, ss, vv" in doctors(shop, "signatures")["says"]


def test_doctor_says_on_a_shared_pc_that_it_keeps_none(shop):
    shop.run("install", "--shared")
    point = doctors(shop, "key")
    assert point["says"] == "this PC keeps no key: only a hold, a withdrawal or a rejection is taken here"
    assert point["fix"] == "proveout install --key FILE --by INITIALS"
