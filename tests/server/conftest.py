import pytest

from tests.server import signed_shop
from tests.server.signed_shop import OPTIONAL, REQUIRED, SignedShop
from tests.server.world import World, build, copied


@pytest.fixture(scope="session")
def built(tmp_path_factory):
    place = tmp_path_factory.mktemp("server")
    build(place)
    return place


@pytest.fixture
def world(built, tmp_path, capsys, monkeypatch) -> World:
    return copied(built, tmp_path / "Werkstatt Süd", capsys, monkeypatch)


@pytest.fixture(scope="session")
def signed_built(tmp_path_factory):
    place = tmp_path_factory.mktemp("signed")
    signed_shop.build(place, f"{REQUIRED}\ntwo_person = true")
    return place


@pytest.fixture
def signed(signed_built, outside_program, tmp_path, capsys, monkeypatch) -> SignedShop:
    """Everybody signs, r1 of job 4471 is checked in on the server; see `tests.server.signed_shop`."""
    outside_program("ssh-keygen")
    return signed_shop.copied(signed_built, tmp_path / "Werkstatt Süd", capsys, monkeypatch)


@pytest.fixture(scope="session")
def unsigned_built(tmp_path_factory):
    place = tmp_path_factory.mktemp("unsigned")
    signed_shop.build(place, f"{OPTIONAL}\ntwo_person = true")
    return place


@pytest.fixture
def unsigned(unsigned_built, outside_program, tmp_path, capsys, monkeypatch) -> SignedShop:
    """The same shop where nobody signs yet: keys are listed, no PC keeps one."""
    outside_program("ssh-keygen")
    return signed_shop.copied(unsigned_built, tmp_path / "Werkstatt Süd", capsys, monkeypatch)
