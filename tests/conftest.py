"""Every test runs in a world of its own: no home, no git configuration, no clock and no colour from outside."""

import gc
import os
import re
import shutil
import signal
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from tests.fakes.busy_shop import BusyShop
from tests.fakes.shop_folder import ShopFolder

pytest_plugins = ["tests.fakes.typed"]

settings.register_profile(
    "suite", max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("deep", max_examples=5000, deadline=None, suppress_health_check=list(HealthCheck))
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "suite"))

_GIT_WORLD = {
    "GIT_CONFIG_NOSYSTEM": "1",
    "GIT_AUTHOR_NAME": "Test Person",
    "GIT_AUTHOR_EMAIL": "test@example.invalid",
    "GIT_COMMITTER_NAME": "Test Person",
    "GIT_COMMITTER_EMAIL": "test@example.invalid",
    "GIT_TERMINAL_PROMPT": "0",
    "TZ": "UTC",
    "LC_ALL": "C.UTF-8",
}


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """What takes long (reads gigabytes) is left out, unless PROVEOUT_MOMENTS asks for 100 or more."""
    if int(os.environ.get("PROVEOUT_MOMENTS", "0")) < 100:
        long = [item for item in items if item.get_closest_marker("takes_long")]
        config.hook.pytest_deselected(items=long)
        items[:] = [item for item in items if item not in long]


class Places:
    """Folders numbered by counting: ``mktemp`` looks through all there are for the next number, a minute in a whole run."""

    def __init__(self, top: Path) -> None:
        self._top = top
        self._numbers: Iterator[int] = count()

    def new(self, name: str) -> Path:
        """A new empty folder, for this user alone."""
        folder = self._top / f"{name}-{next(self._numbers)}"
        folder.mkdir(mode=0o700)
        return folder


def pytest_configure() -> None:
    """Tests of Ctrl-C are of a call on a terminal: a run that a script began in the background would ignore it."""
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_collection_finish(session: pytest.Session) -> None:
    """Thirteen thousand tests are not gone through for garbage over and over, nor copied by every fork: a tenth of a run."""
    thaw = gc.unfreeze

    def thaw_but_tests() -> None:
        """A crowd of processes freezes and thaws for itself (`tracker.store.processes`)."""
        thaw()
        gc.freeze()

    gc.unfreeze = thaw_but_tests
    gc.collect()
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)


@pytest.fixture(scope="session", autouse=True)
def run_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder all processes of this run of the tests know, for what is made once for all of them."""
    own = tmp_path_factory.getbasetemp()
    ShopFolder.kept_in = own
    BusyShop.of_the_run = own.parent if "PYTEST_XDIST_WORKER" in os.environ else own
    return BusyShop.of_the_run


@pytest.fixture(scope="session")
def homes(tmp_path_factory: pytest.TempPathFactory) -> Places:
    return Places(tmp_path_factory.mktemp("homes"))


@pytest.fixture(scope="session")
def own_folders(tmp_path_factory: pytest.TempPathFactory) -> Places:
    return Places(tmp_path_factory.getbasetemp())


@pytest.fixture
def tmp_path(request: pytest.FixtureRequest, own_folders: Places) -> Path:
    """As the one of pytest, which it stands in for: a folder of this test, called like it."""
    return own_folders.new(re.sub(r"\W", "_", request.node.name)[:30])


@pytest.fixture(autouse=True)
def own_world(homes: Places, monkeypatch: pytest.MonkeyPatch) -> None:
    home = homes.new("home")
    for name in [n for n in os.environ if n.startswith(("GIT_", "PROVEOUT_NOW"))]:
        monkeypatch.delenv(name)
    for name, value in _GIT_WORLD.items():
        monkeypatch.setenv(name, value)
    for name in ("HOME", "USERPROFILE", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, str(home))
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(home / "gitconfig"))
    for name in ("NO_COLOR", "FORCE_COLOR", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def outside_program() -> Callable[[str], str]:
    """Path of a program from outside the project; the test skips where it is missing.

    Under ``.ci/run`` (PROVEOUT_NO_SKIPS) a missing program fails instead.
    """

    def find(name: str) -> str:
        path = shutil.which(name) or shutil.which(name, path="/usr/sbin:/sbin")
        if path is not None:
            return path
        words = f"{name} is not on this machine"
        if os.environ.get("PROVEOUT_NO_SKIPS"):
            pytest.fail(words)
        pytest.skip(words)

    return find


@pytest.fixture(scope="session")
def project() -> Path:
    return Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def threepenny_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample shop, made once through its real commands."""
    from tracker.cli.entry import main

    folder = tmp_path_factory.mktemp("demo") / "threepenny"
    with pytest.MonkeyPatch.context() as world:
        home = tmp_path_factory.mktemp("demo-home")
        world.setenv("HOME", str(home))
        world.setenv("GIT_CONFIG_GLOBAL", str(home / "gitconfig"))
        world.setenv("GIT_CONFIG_NOSYSTEM", "1")
        status = main(["-q", "demo", str(folder), "--no-tour"])
    assert status == 0
    return folder


@pytest.fixture
def threepenny(threepenny_once: Path, tmp_path: Path) -> Path:
    """A copy of the sample shop to do things to."""
    return Path(shutil.copytree(threepenny_once, tmp_path / "threepenny", symlinks=True))
