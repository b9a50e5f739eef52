"""A shop that asks for signatures from its first day: office and floor, each PC with the keys of its own people, and the server.

Everything is done with the verbs a person would use; the keys are made by ssh-keygen. ``nk`` has every role and no key.
"""

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.fakes.shop_folder import CALLED, JOB, JOB_PATH, MAIN, PROGRAM, SUB
from tests.server.world import NothingSaid, World
from tests.store.keys import line_of, make_key
from tracker.records.signatures import ARMOUR, NAMESPACE, TAG_NAMESPACE

RECORDS = "jobs/4471/records"
OP = f"{RECORDS}/op10"
RELEASE = "refs/tags/release/4471/{}"
ROLES = {
    "np": ("programmer",),
    "bb": ("programmer", "setup"),
    "kp": ("setup",),
    "ss": ("setup",),
    "dg": ("quality",),
    "qq": ("quality",),
    "nk": ("programmer", "setup", "quality"),
}
OFFICE, FLOOR = ("np", "bb", "dg", "qq"), ("kp", "ss")
STRANGER = "zz"


class SignedShop:
    """The PCs (``office``, ``floor``: worlds with a clone each), the ``server`` and the ``keys`` by initials."""

    def __init__(self, place: Path, keys: dict[str, Path], capsys, monkeypatch) -> None:
        self.place, self.keys = place, keys
        self.server = place / "server.git"
        self.office, self.floor = (self._pc(name, capsys, monkeypatch) for name in ("office", "floor"))

    def _pc(self, name, capsys, monkeypatch) -> World:
        world = World(self.place, capsys, monkeypatch)
        world.shop.folder = world.folder = self.place / name
        return world

    def shop_text(self, policy: str, **lines: list[str]) -> str:
        """shop.toml; ``lines``: keys of a person that are not the one everybody began with."""
        text = f'format = 1\n[shop]\nname = "Signed shop"\ntimezone = "Europe/London"\n[policy]\n{policy}\n'
        for who, roles in ROLES.items():
            keys = lines.get(who, [line_of(self.keys[who])] if who != "nk" else [])
            text += f'[[people]]\ninitials = "{who}"\nname = "Person {who}"\nemail = "{who}@shop.example"\n'
            text += f"roles = {list(roles)}\nkeys = {keys}\n".replace("'", '"')
        return (
            text
            + '[[machines]]\nid = "MILL2"\ntype = "mill"\nunits = "inch"\nfile_name = "O{number:04}.NC"\n'
        )

    def change_shop(self, policy: str, why: str, by: str = "dg", **lines: list[str]) -> None:
        """shop.toml changed and recorded in the office, not sent."""
        self.office.shop.put("shop.toml", self.shop_text(policy, **lines))
        self.office.shop.run("checkin", "shop.toml", "-m", why, "--by", by)

    def new_key(self, name: str) -> Path:
        return make_key(self.place / "new keys", name)

    def stick(self, name: str = "stick") -> Path:
        (self.place / name).mkdir(exist_ok=True)
        return self.place / name

    def tip(self, ref: str = "refs/heads/main") -> str:
        """What the server has."""
        return self.office.git("rev-parse", ref, folder=self.server)


REQUIRED = 'signatures = "required"'
OPTIONAL = 'signatures = "optional"'


def begun(shop: SignedShop, policy: str) -> None:
    """From an empty folder to a first check-in on the server, and a clone on the floor.

    Where signatures are required every PC keeps its people's keys from the beginning.
    """
    office, floor = shop.office, shop.floor
    office.git("init", "-q", "--bare", "-b", "main", str(shop.server), folder=shop.place)
    office.folder.mkdir()
    office.git("init", "-q", "-b", "main")
    office.shop.run("install", "--server", str(shop.server))
    office.shop.put("shop.toml", shop.shop_text(policy))
    office.shop.run("init", ".", "--name", "Signed shop")
    office.git("remote", "add", "origin", "../server.git")
    office.shop.run("share", "--by", "dg")
    floor.git("clone", "-q", "server.git", "floor", folder=shop.place)
    floor.git("remote", "set-url", "origin", "../server.git")
    if REQUIRED in policy:
        keep_keys(shop)
    office.shop.put(JOB_PATH, JOB)
    office.shop.put(PROGRAM, MAIN)
    office.shop.put(CALLED, SUB)
    office.shop.run("checkin", "4471", "-m", "first issue", "--by", "np")
    office.shop.run("share", "--by", "np")
    floor.shop.run("share", "--by", "kp")


def keep_keys(shop: SignedShop) -> None:
    """Every PC keeps the keys of its own people."""
    for world, people in ((shop.office, OFFICE), (shop.floor, FLOOR)):
        for who in people:
            world.shop.run("install", "--shared", "--key", str(shop.keys[who]), "--by", who)


def prove(world: World, by: str, *said: str, piece: str = "report 1", status: int = 0) -> str:
    """An accepted full proof on MILL2."""
    words = ("prove", "4471/op10", "--machine", "MILL2", "--by", by, "--accept", "--first-piece", piece)
    return world.shop.run(*words, "--answers", world.shop.answers(), "--yes", *said, status=status)


def build(place: Path, policy: str) -> None:
    """A shop as `begun`, below ``place``."""
    with pytest.MonkeyPatch.context() as monkeypatch:
        _own_git(place, monkeypatch)
        keys = {who: make_key(place / "keys", who) for who in (*OFFICE, *FLOOR, STRANGER)}
        begun(SignedShop(place, keys, NothingSaid(), monkeypatch), policy)


def copied(built: Path, place: Path, capsys, monkeypatch) -> SignedShop:
    """A shop of its own for one test; the key files are those of the one it was copied from."""
    shutil.copytree(built, place, dirs_exist_ok=True, symlinks=True)
    _own_git(place, monkeypatch)
    keys = {who: built / "keys" / who for who in (*OFFICE, *FLOOR, STRANGER)}
    return SignedShop(place, keys, capsys, monkeypatch)


def stays_here(shop: SignedShop, by: str = "dg", status: int = 0) -> None:
    """A release made in the office, and not sent."""
    shop.office.shop.run("share", "--by", by)
    shop.office.git("remote", "remove", "origin")
    shop.office.shop.run("release", "4471", "--by", by, "--yes", status=status)
    shop.office.git("remote", "add", "origin", "../server.git")


def _own_git(place: Path, monkeypatch) -> None:
    for name, text in (
        ("HOME", str(place)),
        ("GIT_CONFIG_GLOBAL", str(place / "gitconfig")),
        ("GIT_CONFIG_NOSYSTEM", "1"),
    ):
        monkeypatch.setenv(name, text)


def signature(key: Path, data: bytes, namespace: str) -> bytes:
    """The armour ssh-keygen makes."""
    words = ["ssh-keygen", "-Y", "sign", "-q", "-n", namespace, "-f", str(key)]
    return subprocess.run(words, input=data, capture_output=True, check=True).stdout


def anew(world: World, who: str) -> None:
    """The last commit made anew, in somebody's name, with what lies in the folder now."""
    world.git("add", "-A")
    world.git("commit", "-q", "--amend", "--no-edit", "--reset-author", who=who)


def seal(world: World, path: str, key: Path, who: str, namespace: str = NAMESPACE) -> None:
    """The signature of the last commit's record made anew with another key."""
    (world.folder / f"{path}.sig").write_bytes(signature(key, (world.folder / path).read_bytes(), namespace))
    anew(world, who)


def newest(world: World, pattern: str) -> str:
    """The path of the record called like this that the last commit brought."""
    lines = world.git("show", "--format=", "--name-only", "--diff-filter=A", "HEAD").splitlines()
    (path,) = (one for one in lines if one.endswith(".toml") and pattern in one)
    return path


def side_door(shop: SignedShop, world: World, *refs: str) -> None:
    """A push while the server's hook is away: what somebody with the server's files in hand can do."""
    hook = shop.server / "hooks/pre-receive"
    aside = hook.rename(hook.with_name("aside"))
    done = world.push(*refs)
    aside.rename(hook)
    assert done.returncode == 0, done.stderr


def into_an_empty_server(shop: SignedShop, status: int = 0) -> str:
    """The whole history of the office, tags and all, as a shop that moves house pushes it; what was said."""
    office = shop.office
    office.git("init", "-q", "--bare", "-b", "main", "new.git", folder=shop.place)
    office.shop.run("install", "--server", str(shop.place / "new.git"))
    office.git("remote", "set-url", "origin", "../new.git")
    done = office.push("--atomic", "main", "--tags")
    assert done.returncode == status, done.stderr
    return done.stderr


def tag_text(world: World, number: int = 1) -> str:
    """The text of a release's tag, without a signature."""
    data = world.git("cat-file", "tag", RELEASE.format(number)) + "\n"
    return data.split(ARMOUR)[0]


def put_tag(world: World, text: str, key: Path | None = None, signed: bytes | None = None) -> None:
    """A tag object of this text in the place of release 1, signed with a key (over ``signed`` if said), or not."""
    data = text.encode()
    armour = signature(key, signed or data, TAG_NAMESPACE) if key is not None else b""
    made = world.git("hash-object", "-t", "tag", "-w", "--stdin", stdin=data + armour)
    world.git("update-ref", RELEASE.format(1), made)


def sign_tag(world: World, key: Path) -> None:
    """Release 1's tag signed anew."""
    put_tag(world, tag_text(world), key)


def checkin(shop: SignedShop, old: str, new: str, by: str, why: str) -> None:
    """The program edited in the office, checked in and sent."""
    office = shop.office
    office.shop.put(PROGRAM, office.read(PROGRAM).replace(old, new))
    office.shop.run("checkin", "4471", "-m", why, "--by", by)
    office.shop.run("share", "--by", by)


def proven(shop: SignedShop) -> None:
    """Proved on the floor by kp, and sent."""
    prove(shop.floor, "kp")
    shop.floor.shop.run("share", "--by", "kp")


def released(shop: SignedShop, status: int = 0) -> str:
    """A release in the office, by dg, after a share; what was said."""
    shop.office.shop.run("share", "--by", "dg")
    return _words(shop.office.shop.run("release", "4471", "--by", "dg", "--yes", status=status))


def exported(shop: SignedShop, status: int = 0, by: str = "ss") -> str:
    """An export on the floor, after a share; what was said."""
    shop.floor.shop.run("share", "--by", by)
    words = ("export", "--machine", "MILL2", "--to", str(shop.stick()), "--by", by, "--yes")
    return _words(shop.floor.shop.run(*words, status=status))


def _words(text: str) -> str:
    return " ".join(text.split())


def on_stick(shop: SignedShop) -> list[str]:
    """Every file there."""
    return sorted(path.name for path in shop.stick().rglob("*") if path.is_file())


def row(world: World) -> tuple[str, int | None, bool]:
    """Standing, latest release, may run; of the one operation on the one machine."""
    (one,) = world.shop.rows()
    return one["standing"], one["released"], one["may_run"]


def why(world: World) -> str:
    """The reason of its standing."""
    (one,) = world.shop.rows()
    return one["reason"]


def problems(world: World) -> set[tuple[str, str]]:
    """What an audit finds: name and where."""
    got, out, err = world.shop.call("audit", "--json")
    assert got in (0, 1), out + err
    return {(one["problem"], one["where"]) for one in json.loads(out)["problems"]}
