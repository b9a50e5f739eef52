"""Every verb that records, with a key that is wrong: one error, and nothing written, neither here nor on a stick."""

import json
from pathlib import Path

import pytest

from tests.cli.test_matrix_json import RECORDS
from tests.fakes.busy_shop import BusyShop, ByteShop, good_calls, stick_of
from tests.store.keys import make_key


@pytest.fixture(scope="module")
def kept(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("keys") / "kept"


@pytest.fixture
def shop(kept, capsysbinary, monkeypatch, tmp_path) -> ByteShop:
    monkeypatch.chdir(tmp_path)
    return BusyShop(kept).copy(tmp_path / "here", lambda folder: ByteShop(folder, capsysbinary, monkeypatch))


def everything(shop: ByteShop) -> tuple[str, str, dict[str, bytes]]:
    stick = Path(stick_of(shop))
    files = {str(path.relative_to(stick)): path.read_bytes() for path in stick.rglob("*") if path.is_file()}
    return shop.git("for-each-ref"), shop.git("status", "--porcelain"), files


def refused(shop: ByteShop, verb: str, key: str) -> tuple[int, str]:
    """Exit status and name of the error of the verb's good call with this key; nothing may have changed."""
    before = everything(shop)
    status, out, _ = shop.call(*good_calls(shop)[verb], "--key", key, "--json")
    assert everything(shop) == before
    error = json.loads(out)["error"]
    assert error["fix"]
    return status, error["name"]


@pytest.mark.parametrize("verb", sorted(RECORDS))
def test_a_key_that_is_not_there(shop, verb):
    assert refused(shop, verb, "gone") == (2, "no-key-file")


@pytest.mark.parametrize("verb", sorted(RECORDS))
def test_a_key_that_does_not_stand_in_shop_toml(shop, verb, tmp_path, outside_program):
    outside_program("ssh-keygen")
    assert refused(shop, verb, str(make_key(tmp_path / "keys"))) == (1, "key-not-listed")


@pytest.mark.parametrize(
    ("key", "name"), [("shop.toml", "not-a-key"), ("jobs", "no-key-file"), (".", "no-key-file")]
)
def test_what_is_no_key(shop, key, name):
    assert refused(shop, "hold", key) == (2, name)


def test_no_value_behind_it(shop):
    status, out, _ = shop.call("hold", "4471/op10", "-m", "x", "--by", "ss", "--json", "--key")
    assert (status, json.loads(out)["error"]["name"]) == (2, "wrong-call")


@pytest.mark.parametrize("words", [("--key", "gone", "hold"), ("--key=gone", "hold"), ("hold", "--key=gone")])
def test_it_may_stand_before_the_verb(shop, words):
    status, out, _ = shop.call(*words, "4471/op10", "-m", "x", "--by", "ss", "--json")
    assert (status, json.loads(out)["error"]["name"]) == (2, "no-key-file")
    assert json.loads(out)["schema"] == "proveout/hold/1"


def test_a_verb_that_only_looks_goes_on(shop):
    assert shop.call("--key", "gone", "status")[0] == 0
    assert shop.call("status", "--key", "gone")[0] == 0
