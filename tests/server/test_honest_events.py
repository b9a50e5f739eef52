"""Whatever a verb puts down comes in at the server, and an audit has nothing to say about it: every event there is."""

from tests.fakes.shop_folder import PROGRAM
from tracker.records.events import EVENTS

MACHINE = ("--machine", "MILL2")
TEXT = "4471/op10"


def sent(world, *words: str, status: int = 0) -> None:
    """Say it, push it."""
    world.shop.run(*words, status=status)
    done = world.push("main")
    assert done.returncode == 0, (words, done.stderr)


def changed(world, old: str, new: str) -> None:
    world.write(PROGRAM, world.read(PROGRAM).replace(old, new))
    sent(world, "checkin", "4471", "-m", f"{old} is {new}", "--by", "np")


def events(world) -> set[str]:
    """The events of all records the server's main branch holds."""
    names = world.git("ls-tree", "-r", "--name-only", "main", folder=world.server).splitlines()
    records = [one for one in names if "records/" in one and one.endswith(".toml")]
    texts = [world.git("show", f"main:{one}", folder=world.server) for one in records]
    return {one.split('event = "')[1].split('"')[0] for one in texts}


def test_every_event_comes_in(world):
    stick = world.place / "BLUE-1"
    stick.mkdir()
    to = (*MACHINE, "--to", str(stick))
    sent(world, "export", *to, "--by", "ss", "--yes")
    sent(world, "collect", str(stick), "--by", "ss", "--yes")
    sent(world, "ran", TEXT, *MACHINE, "--by", "ss", "--lot", "7", "--yes")
    sent(world, "hold", *MACHINE, "--because", "crash", "--by", "ss", "-m", "touched the vise", "--yes")
    sent(world, "lift", *MACHINE, "--check", "ball bar", "--by", "dg", "-m", "it is straight", "--yes")
    changed(world, "S2000", "S1900")
    sent(world, "review", f"{TEXT}@r2", "--by", "dg", "-m", "read it", "--yes")
    changed(world, "S1900", "S2100")
    why = ("-m", "spindle of MILL3 is down and the lot is due")
    sent(world, "export", "--deviation", TEXT, *to, "--by", "ss", *why, "--hours", "2", "--yes")
    sent(world, "countersign", TEXT, *MACHINE, "--by", "dg", "-m", "watched it", "--yes")
    deviation = world.record("jobs/4471/records/op10/*-deviation-*.toml")
    sent(world, "export", "--for-proving", TEXT, *to, "--by", "ss", "--yes")
    proof = ("prove", TEXT, *MACHINE, "--by", "ss", "--accept", "--answers", world.shop.answers())
    sent(world, *proof, "--first-piece", "waiting", "--yes")
    sent(world, "measured", TEXT, *MACHINE, "--report", "9", "--accept", "--by", "ss", "--yes")
    sent(world, "hold", TEXT, "--by", "ss", "-m", "chatter", "--yes")
    sent(world, "lift", TEXT, "--by", "dg", "-m", "tool changed", "--yes")
    sent(world, "withdraw", "4471@1", "--by", "dg", "-m", "grip too low", "--yes")
    sent(world, "strike", deviation, "--by", "ss", "-m", "wrong lot", "--yes")
    world.write("shop.toml", world.read("shop.toml").replace('name = "Test shop"', 'name = "Try shop"'))
    sent(world, "checkin", "shop.toml", "-m", "its name", "--by", "dg")
    assert events(world) == set(EVENTS)
    # what ran was withdrawn later that day: a run is judged as it stood when it ran
    assert world.shop.json("audit")["problems"] == []
