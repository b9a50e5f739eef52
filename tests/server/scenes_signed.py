"""Attacks on signed records; everybody's key is real, and made by ssh-keygen."""

import re
import subprocess
from datetime import UTC, datetime

from tests.fakes.shop_folder import PROGRAM
from tests.server.world import stamp
from tests.store.keys import line_of, make_key
from tracker.records.signatures import ARMOUR, NAMESPACE, TAG_NAMESPACE

FOLDER = "jobs/4471/records/op10"
SECOND = "refs/tags/release/4471/2"
SIGNED_SCENES = {}


def scene(name):
    def keep(function):
        assert name not in SIGNED_SCENES
        SIGNED_SCENES[name] = function
        return function

    return keep


def signing(world, policy="required"):
    """Everybody has a key, on this PC and in shop.toml; ``zz`` is nobody's."""
    world.keys = {who: make_key(world.place / "keys", who) for who in ("np", "ss", "dg", "xx", "zz")}
    text = world.read("shop.toml")
    for who in ("np", "ss", "dg", "xx"):
        text = with_key(text, who, line_of(world.keys[who]))
    change_shop(world, text)
    must(world.push("main"))
    for who, key in world.keys.items():
        world.git("config", f"proveout.{who}.key", str(key))
    change_shop(world, text.replace("[[people]]", f'[policy]\nsignatures = "{policy}"\n[[people]]', 1))
    must(world.push("main"))


def with_key(text, who, line):
    return text.replace(f'"{who}@shop.example"\n', f'"{who}@shop.example"\nkeys = ["{line}"]\n')


def change_shop(world, text):
    world.write("shop.toml", text)
    # two changes in one second with the same reason would have the same bytes, and be taken for a replay
    which = len(list(world.folder.glob("records/*-shop-*.toml"))) + 1
    world.shop.run("checkin", "shop.toml", "-m", f"keys, change {which}", "--by", "dg")


def must(done):
    assert done.returncode == 0, done.stderr


def unsigned(world, path, who="ss"):
    """The last commit made anew without this record's signature."""
    world.git("rm", "-q", "--cached", f"{path}.sig")
    (world.folder / f"{path}.sig").unlink()
    again(world, who)


def recorded(world, *words):
    """One signed record in a commit; its path."""
    pattern = f"{FOLDER}/*-{words[0]}-*.toml"
    before = set(world.folder.glob(pattern))
    world.shop.run(*words)
    (path,) = set(world.folder.glob(pattern)) - before
    path = path.relative_to(world.folder).as_posix()
    assert (world.folder / f"{path}.sig").exists()
    return path


def ran(world):
    """A run in a commit; its path."""
    return recorded(world, "ran", "4471/op10@r1", "--machine", "MILL2", "--by", "ss", "--lot", "L1")


def hold(world, reason="chatter", by="ss", signed=True):
    """A hold in a commit; its path."""
    path = recorded(world, "hold", "4471/op10", "--by", by, "-m", reason)
    if not signed:
        unsigned(world, path)
    return path


def again(world, who="ss", at=None):
    """The last commit made anew with what lies in the folder now."""
    world.git("add", "-A")
    world.git("commit", "-q", "--amend", "--no-edit", "--reset-author", who=who, at=at)


def signature(key, data, namespace=NAMESPACE):
    words = ["ssh-keygen", "-Y", "sign", "-q", "-n", namespace, "-f", str(key)]
    return subprocess.run(words, input=data, capture_output=True, check=True).stdout


def seal(world, path, key, namespace=NAMESPACE, who="ss"):
    """The record's signature made anew with another key, or for something else."""
    data = (world.folder / path).read_bytes()
    (world.folder / f"{path}.sig").write_bytes(signature(world.keys[key], data, namespace))
    again(world, who)


def replaced(world, data, policy="required"):
    """Something else in place of a new record's signature."""
    signing(world, policy)
    path = hold(world)
    world.write(f"{path}.sig", data)
    again(world)
    return world.push("main")


def lift_unsigned(world):
    """A signed hold that came in, and a lift nobody signed; its path."""
    hold(world)
    must(world.push("main"))
    world.shop.run("lift", "4471/op10", "--by", "dg", "-m", "looked at")
    path = world.record(f"{FOLDER}/*-lift-*.toml")
    unsigned(world, path, "dg")
    return path


@scene("another's lift, signed by himself")
def _(world):
    signing(world)
    hold(world)
    must(world.push("main"))
    world.shop.run("lift", "4471/op10", "--by", "dg", "-m", "looked at")
    path = world.record(f"{FOLDER}/*-lift-*.toml")
    world.write(path, world.read(path).replace('by = "dg"\n', 'by = "dg"\nentered_by = "np"\n', 1))
    seal(world, path, "np", who="np")
    return world.push("main")


@scene("unsigned record")
def _(world):
    signing(world)
    lift_unsigned(world)
    return world.push("main")


def released(world):
    """Release 2, signed, not pushed; the text of its tag."""
    signing(world)
    world.write(PROGRAM, world.read(PROGRAM) + "(NOTE)\n")
    world.shop.run("checkin", "4471", "-m", "note", "--by", "np")
    world.release()
    data = world.git("cat-file", "tag", SECOND) + "\n"
    assert ARMOUR in data
    return data[: data.index(ARMOUR)]


def tagged(world, data):
    made = world.git("hash-object", "-t", "tag", "-w", "--stdin", stdin=data.encode())
    world.git("update-ref", SECOND, made)
    return world.push("--atomic", "main", SECOND)


@scene("unsigned release")
def _(world):
    return tagged(world, released(world))


@scene("release signed by another")
def _(world):
    text = released(world)
    return tagged(world, text + signature(world.keys["np"], text.encode(), TAG_NAMESPACE).decode())


@scene("release with another's seal")
def _(world):
    text = released(world)
    return tagged(world, text + signature(world.keys["dg"], b"tag release/4471/1", TAG_NAMESPACE).decode())


def dropped(world):
    return world.read("shop.toml").replace('"required"', '"optional"')


@scene("shop.toml changed without a record")
def _(world):
    signing(world)
    world.write("shop.toml", dropped(world))
    world.commit(who="dg")
    return world.push("main")


@scene("required dropped and used")
def _(world):
    signing(world)
    change_shop(world, dropped(world))
    hold(world, signed=False)
    return world.push("main")


def shop_record(world):
    return max(p.relative_to(world.folder).as_posix() for p in world.folder.glob("records/*-shop-*.toml"))


@scene("required dropped unsigned")
def _(world):
    signing(world)
    change_shop(world, dropped(world))
    world.git("rm", "-q", shop_record(world) + ".sig")
    again(world, "dg")
    return world.push("main")


@scene("another's key")
def _(world):
    signing(world)
    seal(world, hold(world), "np")
    return world.push("main")


@scene("stranger's key")
def _(world):
    signing(world)
    seal(world, hold(world), "zz")
    return world.push("main")


def keyed(world):
    """shop.toml in which zz's key is one more of dg's."""
    line = line_of(world.keys["dg"])
    return world.read("shop.toml").replace(f'["{line}"]', f'["{line}", "{line_of(world.keys["zz"])}"]')


@scene("key of the same push")
def _(world):
    signing(world)
    change_shop(world, keyed(world))
    seal(world, hold(world, by="dg"), "zz", who="dg")
    return world.push("main")


@scene("key of the same push alone")
def _(world):
    signing(world)
    change_shop(world, keyed(world))
    seal(world, shop_record(world), "zz", who="dg")
    return world.push("main")


def taken_out(world):
    """ss has zz's key instead of his own, by a change that is pushed."""
    text = world.read("shop.toml").replace(line_of(world.keys["ss"]), line_of(world.keys["zz"]))
    change_shop(world, text)
    must(world.push("main"))
    world.git("config", "proveout.ss.key", str(world.keys["zz"]))


def with_the_old_key(world):
    """A branch on the state before ss's key was taken out, with that key at hand: that state, and the newest one."""
    then = world.head
    taken_out(world)
    tip = world.head
    world.git("checkout", "-q", "-b", "side", then)
    world.git("config", "proveout.ss.key", str(world.keys["ss"]))
    return then, tip


@scene("key taken out")
def _(world):
    signing(world)
    taken_out(world)
    seal(world, ran(world), "ss")
    return world.push("main")


@scene("key taken out, dated back")
def _(world):
    signing(world)
    then, tip = with_the_old_key(world)
    path, past = ran(world), datetime.fromisoformat(world.git("log", "-1", "--format=%cI", then))
    text = re.sub(r'(?m)^(at|entered) = ".*"', rf'\1 = "{stamp(past.astimezone(UTC))}"', world.read(path))
    world.write(path, text)
    (world.folder / f"{path}.sig").write_bytes(signature(world.keys["ss"], text.encode()))
    again(world, at=past)
    world.git("merge", "-q", "--no-edit", tip)
    return world.push("HEAD:main")


@scene("signed by who has left")
def _(world):
    signing(world)
    path = hold(world)
    text = world.read(path).replace('by = "ss"', 'by = "xx"')
    for old in (path, f"{path}.sig"):
        (world.folder / old).unlink()
    path = path.replace("-ss.toml", "-xx.toml")
    world.write(path, text)
    seal(world, path, "xx", who="xx")
    return world.push("main")


@scene("signature of another record")
def _(world):
    signing(world)
    old = hold(world)
    must(world.push("main"))
    path = hold(world, "again")
    world.write(f"{path}.sig", world.read(f"{old}.sig"))
    again(world)
    return world.push("main")


@scene("signatures swapped")
def _(world):
    signing(world)
    one, other = (hold(world, f"chatter {number}") for number in (1, 2))
    first, second = world.read(f"{one}.sig"), world.read(f"{other}.sig")
    world.git("reset", "-q", "--soft", "HEAD~1")
    world.write(f"{one}.sig", second)
    world.write(f"{other}.sig", first)
    again(world)
    return world.push("main")


@scene("signature for something else")
def _(world):
    signing(world)
    seal(world, hold(world), "ss", "file")
    return world.push("main")


@scene("record edited before the push")
def _(world):
    signing(world)
    path = hold(world)
    world.write(path, world.read(path).replace("chatter", "none"))
    again(world)
    return world.push("main")


@scene("signature that is none")
def _(world):
    return replaced(world, "nonsense\n")


@scene("huge signature")
def _(world):
    return replaced(world, "x" * (1 << 20))


@scene("broken where optional")
def _(world):
    return replaced(world, "nonsense\n", "optional")


@scene("stranger's key where optional")
def _(world):
    signing(world, "optional")
    seal(world, hold(world), "zz")
    return world.push("main")


@scene("signature without record")
def _(world):
    signing(world)
    path = hold(world)
    must(world.push("main"))
    world.write(f"{FOLDER}/20260101T000000Z-hold-ss.toml.sig", world.read(f"{path}.sig"))
    world.commit(who="ss")
    return world.push("main")


@scene("signature afterwards")
def _(world):
    signing(world, "optional")
    path = hold(world, signed=False)
    must(world.push("main"))
    (world.folder / f"{path}.sig").write_bytes(
        signature(world.keys["ss"], (world.folder / path).read_bytes())
    )
    world.commit(who="ss")
    return world.push("main")


def signed_there(world):
    signing(world)
    path = hold(world)
    must(world.push("main"))
    return path


@scene("signature changed")
def _(world):
    path = signed_there(world)
    data = (world.folder / path).read_bytes()
    (world.folder / f"{path}.sig").write_bytes(signature(world.keys["dg"], data))
    world.commit(who="ss")
    return world.push("main")


@scene("signature deleted")
def _(world):
    world.git("rm", "-q", f"{signed_there(world)}.sig")
    world.commit(who="ss")
    return world.push("main")


@scene("signed record again")
def _(world):
    path = signed_there(world)
    later = f"{FOLDER}/{world.now(seconds=5):%Y%m%dT%H%M%SZ}-hold-ss.toml"
    for end in ("", ".sig"):
        world.write(later + end, world.read(path + end))
    world.commit(who="ss")
    return world.push("main")


@scene("signed record on another line")
def _(world):
    signing(world)
    then = world.head
    path = hold(world)
    texts = {end: world.read(path + end) for end in ("", ".sig")}
    must(world.push("main"))
    tip = world.head
    world.git("checkout", "-q", "-b", "side", then)
    for end, text in texts.items():
        world.write(path + end, text)
    world.commit(who="ss")
    world.git("merge", "-q", "--no-edit", tip)
    return world.push("HEAD:main")
