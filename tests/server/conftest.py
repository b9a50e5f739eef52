import pytest

from tests.server.world import World, build, copied


@pytest.fixture(scope="session")
def built(tmp_path_factory):
    place = tmp_path_factory.mktemp("server")
    build(place)
    return place


@pytest.fixture
def world(built, tmp_path, capsys, monkeypatch) -> World:
    return copied(built, tmp_path / "Werkstatt Süd", capsys, monkeypatch)
