"""A person's key on this PC, the file of allowed signers, what doctor says of both, and signing through the verbs."""

import json
import subprocess

import pytest

from tests.store.keys import REQUIRED, keep_key, keygen_verifies, line_of, list_keys, make_key
from tests.store.shop_repo import AT, KIM, SHOP, git, opened, record, record_path, write
from tracker.cli.entry import main
from tracker.records.signatures import NAMESPACE, signature_path
from tracker.services.install_signing import SIGNERS

QUALITY = SHOP.replace('roles = ["setup"]', 'roles = ["setup", "quality"]')
SIGNING_POINTS = ("ssh-keygen", "key", "signatures", "signers")


@pytest.fixture
def key(tmp_path, outside_program):
    outside_program("ssh-keygen")
    return make_key(tmp_path / "my keys")


@pytest.fixture
def shop(shop):
    git(shop, "config", "user.email", KIM.email)
    return shop


def call(capsys, folder, *words):
    status = main(["-C", str(folder), *map(str, words)])
    out, err = capsys.readouterr()
    return status, out, err


def installed(capsys, shop, *words):
    status, out, err = call(capsys, shop, "install", "--json", *words)
    assert status == 0, err
    return json.loads(out)


def points(capsys, shop):
    status, out, _ = call(capsys, shop, "doctor", "--json")
    found = {point["point"]: point for point in json.loads(out)["points"]}
    return status, [(found[name]["state"], found[name]["says"]) for name in SIGNING_POINTS]


def test_install_keeps_a_key_and_says_what_is_missing(shop, key, capsys):
    answer = installed(capsys, shop, "--key", key, "--by", "kp")
    assert git(shop, "config", "--local", "proveout.kp.key") == str(key)
    assert [one["state"] for one in answer["actions"] if "signed here" in one["what"]] == ["written"]
    assert any(" ".join(line_of(key).split()[:2]) in note for note in answer["notes"])
    list_keys(shop, line_of(key))
    again = installed(capsys, shop, "--key", key)
    assert [one["state"] for one in again["actions"] if "signed here" in one["what"]] == ["kept"]
    assert not any("does not stand" in note for note in again["notes"])


def test_a_key_named_from_another_folder_is_kept_whole(shop, key, capsys, monkeypatch):
    monkeypatch.chdir(key.parent)
    assert main(["install", "--key", key.name, "-C", str(shop)]) == 2  # -C moves where names are looked up
    capsys.readouterr()
    write(shop, "kp.pub", line_of(key))
    installed(capsys, shop, "--key=kp.pub")
    assert git(shop, "config", "--local", "proveout.kp.key") == str(shop / "kp.pub")


@pytest.mark.parametrize(
    ("words", "status", "name"),
    [
        (("--key", "gone", "--by", "kp"), 2, "no-key-file"),
        (("--key", "shop.toml", "--by", "kp"), 2, "not-a-key"),
        (("--key", "jobs", "--by", "kp"), 2, "no-key-file"),
        (("--key", "shop.toml", "--by", "xx"), 2, "unknown-person"),
        (("--by", "kp"), 2, "wrong-call"),
        (("--key", "shop.toml", "--undo"), 2, "wrong-call"),
    ],
)
def test_bad_calls_of_install_write_nothing(shop, capsys, words, status, name):
    before = git(shop, "config", "--local", "--list"), sorted(p.name for p in (shop / ".git/hooks").iterdir())
    found, out, _ = call(capsys, shop, "install", *words, "--json")
    assert found == status
    assert json.loads(out)["error"]["name"] == name
    assert json.loads(out)["error"]["fix"]
    assert before == (
        git(shop, "config", "--local", "--list"),
        sorted(p.name for p in (shop / ".git/hooks").iterdir()),
    )


def test_a_private_key_in_the_shop_s_own_folder_is_refused(shop, capsys, key):
    write(shop, "key", key.read_bytes())
    status, out, _ = call(capsys, shop, "install", "--key", "key", "--by", "kp", "--json")
    assert (status, json.loads(out)["error"]["name"]) == (2, "key-in-the-shop")
    assert git(shop, "config", "--local", "--get-regexp", "proveout", check=False).stdout == b""


def test_allowed_signers_are_believed_by_ssh_keygen_and_strangers_are_not(shop, key, capsys, tmp_path):
    list_keys(shop, line_of(key), policy=REQUIRED)
    keep_key(shop, key)
    installed(capsys, shop)
    signers = shop / ".git" / "proveout" / "allowed-signers"
    assert git(shop, "config", "--local", SIGNERS) == signers.as_posix()
    record(opened(shop), record_path(1))
    data, armoured = (
        (shop / record_path(1)).read_bytes(),
        (shop / signature_path(record_path(1))).read_bytes(),
    )
    copy = tmp_path / "signers"
    copy.write_bytes(signers.read_bytes())
    assert keygen_verifies(copy, KIM.email, NAMESPACE, data, armoured)
    assert not keygen_verifies(copy, KIM.email, NAMESPACE, data + b"\n", armoured)
    assert not keygen_verifies(copy, KIM.email, "file", data, armoured)
    stranger = make_key(tmp_path / "my keys", "stranger")
    other = subprocess.run(
        ["ssh-keygen", "-Y", "sign", "-f", stranger, "-n", NAMESPACE],
        input=data,
        check=True,
        capture_output=True,
    ).stdout
    assert not keygen_verifies(copy, KIM.email, NAMESPACE, data, other)


def test_git_says_good_for_a_tag_after_install(shop, key, capsys):
    list_keys(shop, line_of(key))
    keep_key(shop, key)
    installed(capsys, shop)
    clone = opened(shop)
    clone.tag("note/1", commit=clone.head().commit, message="m", tagger=KIM, at=AT)
    told = git(shop, "verify-tag", "note/1", check=False)
    assert (told.returncode, b"Good" in told.stderr) == (0, True)


def test_a_key_that_was_replaced_stays_with_its_days(shop, key, capsys, tmp_path, monkeypatch):
    monkeypatch.setenv("GIT_COMMITTER_DATE", "2026-03-01T08:00:00Z")
    list_keys(shop, line_of(key))
    monkeypatch.setenv("GIT_COMMITTER_DATE", "2026-04-01T08:00:00Z")
    new = make_key(tmp_path / "my keys", "new")
    list_keys(shop, line_of(new))
    installed(capsys, shop)
    rows = (shop / ".git/proveout/allowed-signers").read_text(encoding="utf-8").splitlines()[1:]
    assert sorted(row.split(" ")[1].split(",", 2)[2] for row in rows) == [
        'valid-after="20260301",valid-before="20260401"',
        'valid-after="20260401"',
    ]


def test_undo_takes_away_what_install_put_there_and_no_more(shop, key, capsys):
    before = git(shop, "config", "--local", "--list")
    list_keys(shop, line_of(key))
    installed(capsys, shop, "--key", key)
    installed(capsys, shop, "--undo")
    assert git(shop, "config", "--local", "--list") == before
    assert not (shop / ".git/proveout/allowed-signers").exists()
    assert key.exists()


def test_a_file_a_person_had_named_is_kept(shop, key, capsys):
    list_keys(shop, line_of(key))
    git(shop, "config", SIGNERS, "/my/own")
    answer = installed(capsys, shop)
    assert any("/my/own" in note and "kept" in note for note in answer["notes"])
    installed(capsys, shop, "--undo")
    assert git(shop, "config", "--local", SIGNERS) == "/my/own"


def test_a_clone_that_was_moved_names_its_own_file_again(shop, key, capsys):
    list_keys(shop, line_of(key))
    installed(capsys, shop)
    git(shop, "config", SIGNERS, "/old place/.git/proveout/allowed-signers")
    assert points(capsys, shop)[1][3][0] == "off"
    assert not any("is kept" in note for note in installed(capsys, shop)["notes"])
    assert git(shop, "config", "--local", SIGNERS) == (shop / ".git/proveout/allowed-signers").as_posix()
    assert points(capsys, shop)[1][3][0] == "on"


def test_doctor_where_nobody_signs(shop, key, capsys):
    assert [state for state, _ in points(capsys, shop)[1]] == ["on"] * 4
    assert points(capsys, shop)[1][2][1] == "signatures are optional, and nobody has a key"


def test_doctor_follows_the_set_up(shop, key, capsys):
    list_keys(shop, line_of(key), policy=REQUIRED)
    found = points(capsys, shop)[1]
    assert [state for state, _ in found] == ["on", "off", "on", "off"]
    assert "no key of kp" in found[1][1]
    installed(capsys, shop, "--key", key)
    assert [state for state, _ in points(capsys, shop)[1]] == ["on"] * 4


def test_doctor_names_who_could_not_sign(shop, key, capsys):
    list_keys(shop, policy=REQUIRED)
    status, found = points(capsys, shop)
    assert status == 1
    assert found[2][0] == "off"
    assert "no key of kp" in found[2][1]


def test_doctor_sees_a_key_that_is_not_listed_and_one_that_is_gone(shop, key, capsys, tmp_path):
    list_keys(shop, line_of(make_key(tmp_path / "my keys", "another")))
    keep_key(shop, key)
    assert points(capsys, shop)[1][1][0] == "off"
    key.unlink()
    assert points(capsys, shop)[1][1][0] == "could not tell"


def test_requiring_signatures_nobody_of_quality_could_make_is_refused(shop, key, capsys):
    list_keys(shop, text=QUALITY)
    write(
        shop,
        "shop.toml",
        (shop / "shop.toml").read_text(encoding="utf-8").replace('"optional"', '"required"'),
    )
    status, out, _ = call(capsys, shop, "checkin", "shop.toml", "-m", "strict", "--by", "kp", "--json")
    assert (status, json.loads(out)["error"]["name"]) == (1, "nobody-could-sign")


def test_the_road_to_required_signatures(shop, key, capsys):
    list_keys(shop, line_of(key), text=QUALITY)
    installed(capsys, shop, "--key", key)
    write(
        shop,
        "shop.toml",
        (shop / "shop.toml").read_text(encoding="utf-8").replace('"optional"', '"required"'),
    )
    status, out, err = call(capsys, shop, "checkin", "shop.toml", "-m", "strict", "--by", "kp")
    assert status == 0, err
    assert "signed (key SHA256:" in out
    status, out, err = call(
        capsys,
        shop,
        "hold",
        "--machine",
        "MILL2",
        "--because",
        "crash",
        "-m",
        "x",
        "--by",
        "kp",
        "--json",
        "--yes",
    )
    assert status == 0, err
    assert json.loads(out)["signed"].startswith("signed (key SHA256:")
    assert git(shop, "ls-files", "records/*.sig").count("\n") == 1


def test_a_call_with_a_key_of_its_own_and_one_without(shop, key, capsys, monkeypatch):
    list_keys(shop, line_of(key))
    words = ("hold", "--machine", "MILL2", "--because", "crash", "-m", "x", "--by", "kp", "--yes")
    status, out, _ = call(capsys, shop, *words)
    assert (status, "unsigned: this PC has no key of kp" in out) == (0, True)
    status, out, err = call(capsys, shop, *words, "--key", key)
    assert (status, "signed (key" in out) == (0, True), err
    monkeypatch.setenv("PROVEOUT_KEY", str(key))
    assert "signed (key" in call(capsys, shop, *words)[1]
    assert "on purpose" in call(capsys, shop, *words, "--key", "none")[1]
    status, out, _ = call(capsys, shop, *words, "--key", "gone", "--json")
    assert (status, json.loads(out)["error"]["name"]) == (2, "no-key-file")


def test_a_shop_without_keys_hears_nothing_of_signatures(shop, capsys):
    out = call(
        capsys, shop, "hold", "--machine", "MILL2", "--because", "crash", "-m", "x", "--by", "kp", "--yes"
    )[1]
    assert "sign" not in out
