"""How texts of before the record are forged: a function a name, like `tests.server.scenes`."""

import hashlib
import re
from datetime import UTC, datetime

from tests.server.scenes import FOLDER, proof
from tests.server.world import stamp

BEFORE_SCENES = {}


def scene(name):
    def keep(function):
        assert name not in BEFORE_SCENES
        BEFORE_SCENES[name] = function
        return function

    return keep


def taken_over(world, *, author="np", at=None, commit=None, raw=None):
    """A record that says r1's text was there before, made by hand and pushed by np; gives back its path."""
    first = world.record(f"{FOLDER}/r0001-????????.toml")
    brought = world.git("log", "-1", "--format=%H", "--", first)
    seconds, name, email = world.git("log", "-1", "--format=%at%n%an%n%ae", brought).splitlines()
    author = name if author == "np" else author
    written = stamp(datetime.fromtimestamp(int(seconds), UTC))
    text = world.read(first).replace('revision = "r0001"', 'revision = "r0002"')
    text = re.sub(r'(?m)^entered = ".*"', f'entered = "{stamp(world.now())}"', text)
    text = re.sub(r'(?m)^at = ".*"', f'at = "{at or written}"', text)
    text = re.sub(r'(?m)^raw_sha256 = ".*"', f'raw_sha256 = "{raw}"', text) if raw else text
    text += f'\n[before]\ncommit = "{commit or brought}"\nauthor = "{author}"\nemail = "{email}"\n'
    path = f"{FOLDER}/r0002-{hashlib.sha256(text.encode()).hexdigest()[:8]}.toml"
    world.write(path, text)
    world.commit(who="np")
    return path


@scene("text of before in another's name")
def _(world):
    taken_over(world, author="Sol Shim")
    return world.push("main")


@scene("text of before dated back")
def _(world):
    taken_over(world, at="2009-01-01T08:00:00Z")
    return world.push("main")


@scene("text of before from nowhere")
def _(world):
    taken_over(world, commit="ab" * 20)
    return world.push("main")


@scene("text of before that was another")
def _(world):
    taken_over(world, raw="cd" * 32)
    return world.push("main")


@scene("proof of a text of before")
def _(world):
    before = taken_over(world).rpartition("/")[2].removesuffix(".toml")
    name, text = proof(world).rpartition("/")[2], world.read(proof(world))
    text = re.sub(r'(?m)^(at|entered) = ".*"', rf'\1 = "{stamp(world.now())}"', text)
    world.write(f"{FOLDER}/{before}{name[14:]}", text.replace(name[:14], before))
    world.commit(who="ss")
    return world.push("main")
