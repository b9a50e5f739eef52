"""How each attack of the table is done: a function a name, which does it and gives back the push."""

import re

from tests.fakes.shop_folder import JOB, MAIN, PROGRAM
from tests.server.world import EMAIL, stamp

RELEASE = "refs/tags/release/4471/1"
SECOND = "refs/tags/release/4471/2"
PROOF = "jobs/4471/records/op10/*-proof-*.toml"
FOLDER = "jobs/4471/records/op10"
SCENES = {}


def scene(name):
    def keep(function):
        assert name not in SCENES
        SCENES[name] = function
        return function

    return keep


def simple(name, *words, before=None):
    """One push of these words, after an ordinary commit or tag."""

    def run(world):
        if before:
            before(world)
        return world.push(*words)

    scene(name)(run)


def note(world):
    world.write("note.txt", "x")
    world.commit()


def plain_tag(world):
    world.git("tag", "v1")
    assert world.push("v1").returncode == 0
    note(world)


# -- references
simple("branch rewound", "+HEAD~1:main")
simple("branch deleted", ":main")
simple("replace reference", f"HEAD:refs/replace/{'ab' * 20}")
simple("notes and other places", "HEAD:refs/notes/x")
simple("branch called like a release", "HEAD:refs/heads/release/4471/2")
simple("release in other letters", "HEAD:refs/tags/Release/4471/2")
simple("release one level down", f"HEAD:refs/tags/{SECOND}")
simple("branch HEAD", "HEAD:refs/heads/HEAD")
simple("branch in other letters", "HEAD:refs/heads/Main")
simple("branch on a tag", f"{RELEASE}:refs/heads/x")
simple("plain tag moved", "+HEAD:refs/tags/v1", before=plain_tag)
simple("plain tag deleted", ":refs/tags/v1", before=plain_tag)
simple("release tag under another name", f"{RELEASE}:refs/tags/v1")
simple("release deleted", f":{RELEASE}")
simple("release moved", f"+HEAD~1:{RELEASE}")
simple("lightweight release", f"HEAD:{SECOND}", before=note)
simple("release renamed", f"{RELEASE}:{SECOND}")
simple("odd release name", "HEAD:refs/tags/release/4471/x")
simple("release number with zeros", "HEAD:refs/tags/release/4471/02")


@scene("branch rewritten")
def _(world):
    world.git("commit", "-q", "--amend", "-m", "other words")
    return world.push("+HEAD:main")


@scene("branch rolled back and on")
def _(world):
    world.git("reset", "-q", "--hard", "HEAD~2")
    note(world)
    return world.push("+HEAD:main")


@scene("side branch deleted")
def _(world):
    world.shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter")
    assert world.push("HEAD:held").returncode == 0
    return world.push(":held")


@scene("tag on a file")
def _(world):
    blob = world.git("rev-parse", "HEAD:shop.toml")
    world.git("update-ref", "refs/tags/v1", blob)
    return world.push("refs/tags/v1")


@scene("nested plain tag")
def _(world):
    world.tag("v1")
    world.tag("v2", "v1")
    return world.push("v2")


@scene("release made again")
def _(world):
    world.git(
        "tag",
        "-f",
        "-a",
        "-m",
        world.git("tag", "-l", "--format=%(contents)", "release/4471/1"),
        "release/4471/1",
        "HEAD",
    )
    return world.push(f"+{RELEASE}")


@scene("nested release")
def _(world):
    return world.push(world.tag("release/4471/2", "release/4471/1"))


@scene("release on a file")
def _(world):
    world.git("update-ref", SECOND, world.git("rev-parse", "HEAD:shop.toml"))
    return world.push(SECOND)


@scene("release of nothing")
def _(world):
    return world.push(world.tag("release/4471/2"))


def released(world, number):
    """An honest release of another revision, made here and not pushed."""
    world.write(PROGRAM, world.read(PROGRAM) + f"(NOTE {number})\n")
    world.shop.run("checkin", "4471", "-m", "note", "--by", "np")
    world.release()


@scene("release with a gap")
def _(world):
    released(world, 2)
    released(world, 3)
    return world.push("--atomic", "main", "release/4471/3")


@scene("release without evidence")
def _(world):
    released(world, 2)
    edit_on_r3(world)
    path = "jobs/4471/records/release-0003.toml"
    text = world.read("jobs/4471/records/release-0002.toml").replace("number = 2", "number = 3")
    world.write(path, re.sub(r'(?m)^(at|entered) = ".*"', rf'\1 = "{stamp(world.now())}"', text))
    world.commit(who="dg")
    from tracker.digest import sha256_of

    digest = sha256_of((world.folder / path).read_bytes())
    world.tag("release/4471/3", message=f"4471 release 3\n\nrecord: {path}\nsha256: {digest}")
    return world.push("--atomic", "main", "release/4471/2", "release/4471/3")


def edit_on_r3(world):
    world.write(PROGRAM, world.read(PROGRAM).replace("Z-1.16", "Z-1.26"))
    world.shop.run("checkin", "4471", "-m", "deeper", "--by", "np")


def aside(world):
    other = world.second()
    other.write("note.txt", "x")
    other.commit()
    assert other.push("main").returncode == 0
    released(world, 2)
    world.git("pull", "-q", "--no-rebase", "--no-edit", "origin", "main")


@scene("release aside")
def _(world):
    aside(world)
    return world.push("--atomic", "main", "release/4471/2")


@scene("release aside in two pushes")
def _(world):
    aside(world)
    assert world.push("main").returncode == 0
    return world.push("release/4471/2")


@scene("release on an unproven edit")
def _(world):
    world.write(PROGRAM, world.read(PROGRAM).replace("Z-1.16", "Z-1.26"))
    world.commit()
    message = world.git("tag", "-l", "--format=%(contents)", "release/4471/1")
    from tracker.digest import sha256_of

    path = "jobs/4471/records/release-0001.toml"
    assert sha256_of((world.folder / path).read_bytes()) in message
    world.git("update-ref", "-d", RELEASE, folder=world.server)
    world.git("tag", "-d", "release/4471/1")
    world.tag("release/4471/1", message=message)
    return world.push("--atomic", "main", "release/4471/1")


@scene("good and bad release at once")
def _(world):
    released(world, 2)
    world.git("tag", "v1")
    return world.push("main", "release/4471/2", "v1", world.tag("release/4471/3"))


# -- records
def proof(world):
    return world.record(PROOF)


@scene("record edited")
def _(world):
    world.write(proof(world), world.read(proof(world)).replace("accepted", "rejected"))
    world.commit(who="ss")
    return world.push("main")


@scene("record edited and put back")
def _(world):
    was = world.read(proof(world))
    world.write(proof(world), was + "# x\n")
    world.commit(who="ss")
    world.write(proof(world), was)
    world.commit(who="ss")
    return world.push("main")


@scene("record deleted")
def _(world):
    world.shop.run(
        "prove",
        "4471/op10@r1",
        "--machine",
        "MILL2",
        "--by",
        "ss",
        "--reject",
        "--cause",
        "program",
        "--answers",
        world.shop.answers(),
        "--yes",
    )
    assert world.push("main").returncode == 0
    world.git("rm", "-q", max(p.relative_to(world.folder).as_posix() for p in world.folder.glob(PROOF)))
    world.commit()
    return world.push("main")


@scene("record deleted and put back")
def _(world):
    path, was = proof(world), world.read(proof(world))
    world.git("rm", "-q", path)
    world.commit()
    world.write(path, was)
    world.commit(who="ss")
    return world.push("main")


@scene("record renamed")
def _(world):
    world.git("mv", proof(world), proof(world).replace("-ss.", "-dg."))
    world.commit()
    return world.push("main")


@scene("folder of records moved")
def _(world):
    world.git("mv", "jobs/4471/records", "jobs/4471/old")
    world.commit()
    return world.push("main")


def held_there(world):
    """The server's branch has a hold this clone has not merged; an own commit stands here."""
    other = world.second()
    other.shop.run("hold", "4471/op10", "--by", "ss", "-m", "chatter")
    assert other.push("main").returncode == 0
    note(world)
    world.git("fetch", "-q", "origin", "main")


@scene("record let go by a merge")
def _(world):
    held_there(world)
    world.git("merge", "-q", "-s", "ours", "--no-edit", "FETCH_HEAD")
    return world.push("main")


def merging(world, change):
    held_there(world)
    world.git("merge", "-q", "--no-commit", "--no-ff", "FETCH_HEAD")
    change()
    world.commit("merge")
    return world.push("main")


@scene("record edited in a merge")
def _(world):
    return merging(world, lambda: world.write(proof(world), world.read(proof(world)) + "# x\n"))


@scene("record added in a merge")
def _(world):
    return merging(world, lambda: world.write(f"{FOLDER}/r0001-x.toml", "format = 1\n"))


@scene("program slipped into a merge")
def _(world):
    return merging(world, lambda: world.write("jobs/4471/op10/O1003.nc", MAIN))


@scene("shop.toml in a merge")
def _(world):
    return merging(world, lambda: world.write("shop.toml", world.read("shop.toml") + "# x\n"))


def link(world, path, to):
    (world.folder / path).unlink(missing_ok=True)
    (world.folder / path).symlink_to(to)


@scene("record as a link")
def _(world):
    link(
        world,
        f"{FOLDER}/{proof(world).rpartition('/')[2].replace('-ss.', '-dg.')}",
        proof(world).rpartition("/")[2],
    )
    world.commit()
    return world.push("main")


@scene("record turned into a link")
def _(world):
    link(world, proof(world), "/etc/passwd")
    world.commit()
    return world.push("main")


@scene("program among records")
def _(world):
    world.write(f"{FOLDER}/O1001.nc", MAIN)
    world.commit()
    return world.push("main")


@scene("records in other letters")
def _(world):
    world.write("jobs/4472/Records/op10/x.toml", world.read(proof(world)))
    world.commit()
    return world.push("main")


@scene("record that can be run")
def _(world):
    hold(world)
    path = world.record(f"{FOLDER}/*-hold-*.toml")
    (world.folder / path).chmod(0o755)
    world.git("update-index", "--chmod=+x", path)
    world.git("commit", "-q", "--amend", "--no-edit", who="ss")
    return world.push("main")


def hold(world, by="ss"):
    world.shop.run("hold", "4471/op10", "--by", by, "-m", "chatter")


def forge(world, path, text, *, who="ss", **how):
    """A record of somebody's own making, entered now."""
    text = re.sub(r'(?m)^(at|entered) = ".*"', rf'\1 = "{stamp(how.pop("entered", world.now()))}"', text)
    world.write(path, text)
    world.commit(who=who, **how)
    return world.push("main")


@scene("evidence of another job")
def _(world):
    world.write("jobs/4472/job.toml", JOB.replace("4471", "4472"))
    return forge(world, proof(world).replace("4471", "4472"), world.read(proof(world)))


@scene("evidence of another operation")
def _(world):
    return forge(world, proof(world).replace("op10", "op20"), world.read(proof(world)))


@scene("evidence of another revision")
def _(world):
    edit_on_r3(world)
    second = world.record(f"{FOLDER}/r0002-????????.toml").rpartition("/")[2].removesuffix(".toml")
    name = proof(world).rpartition("/")[2]
    return forge(world, f"{FOLDER}/{second}{name[14:]}", world.read(proof(world)))


@scene("evidence for another text")
def _(world):
    edit_on_r3(world)
    second = world.record(f"{FOLDER}/r0002-????????.toml").rpartition("/")[2].removesuffix(".toml")
    name, text = proof(world).rpartition("/")[2], world.read(proof(world))
    return forge(world, f"{FOLDER}/{second}{name[14:]}", text.replace(name[:14], second))


@scene("evidence for no revision")
def _(world):
    name, text = proof(world).rpartition("/")[2], world.read(proof(world))
    return forge(world, f"{FOLDER}/r0009-abcdef12{name[14:]}", text.replace(name[:14], "r0009-abcdef12"))


@scene("countersign of nothing")
def _(world):
    head = (
        world.read(proof(world))
        .split("machine = ")[0]
        .replace('event = "proof"', 'event = "countersign"')
        .replace('by = "ss"', 'by = "dg"')
    )
    name = proof(world).replace("-proof-MILL2-", "-countersign-").replace("-ss.", "-dg.")
    return forge(world, name, head + 'proof = "jobs/4471/records/op10/gone.toml"\n', who="dg")


@scene("revision of another text")
def _(world):
    edit_on_r3(world)
    world.write(PROGRAM, world.read(PROGRAM).replace("Z-1.26", "Z-1.99"))
    world.git("add", "-A")
    world.git("commit", "-q", "--amend", "--no-edit")
    return world.push("main")


@scene("revision with wrong digits")
def _(world):
    edit_on_r3(world)
    path = world.record(f"{FOLDER}/r0002-????????.toml")
    world.write(path, world.read(path) + "# x\n")
    world.git("add", "-A")
    world.git("commit", "-q", "--amend", "--no-edit")
    return world.push("main")


@scene("clock set by hand")
def _(world):
    world.shop.at(world.now(minutes=1).isoformat())
    hold(world)
    return world.push("main")


def hold_text(world, *, change, **how):
    """A hold made honestly, taken back, and put in again as somebody would have it."""
    before = world.head
    hold(world)
    path = world.record(f"{FOLDER}/*-hold-*.toml")
    text = world.read(path)
    world.git("reset", "-q", "--hard", before)
    name = how.pop("name", lambda path: path)
    return forge(world, name(path), change(text), **how)


@scene("newer format")
def _(world):
    return hold_text(world, change=lambda text: text.replace("format = 1", "format = 99"))


@scene("unknown event")
def _(world):
    return hold_text(world, change=lambda text: text.replace('"hold"', '"blessing"'))


@scene("record that is no TOML")
def _(world):
    return hold_text(world, change=lambda text: text + "= = =\n")


@scene("huge record")
def _(world):
    return hold_text(world, change=lambda text: text + "#" * (5 << 20))


@scene("record from tomorrow")
def _(world):
    return hold_text(world, change=lambda text: text, entered=world.now(days=1))


@scene("record dated back")
def _(world):
    return hold_text(world, change=lambda text: text, entered=world.now(days=-365))


@scene("commit dated back")
def _(world):
    world.write("note.txt", "x")
    world.commit(at=world.now(days=-30))
    return world.push("main")


@scene("commit from tomorrow")
def _(world):
    world.write("note.txt", "x")
    world.commit(at=world.now(days=1))
    return world.push("main")


# -- people
@scene("in another's name")
def _(world):
    return hold_text(world, change=lambda text: text, who="np")


@scene("by nobody")
def _(world):
    return hold_text(
        world,
        change=lambda text: text.replace('by = "ss"', 'by = "zz"'),
        name=lambda path: path.replace("-ss.", "-zz."),
        who="zz",
    )


@scene("without the role")
def _(world):
    hold(world)
    assert world.push("main").returncode == 0
    world.shop.run("lift", "4471/op10", "--by", "dg", "-m", "fine")
    (path,) = (p.relative_to(world.folder).as_posix() for p in world.folder.glob(f"{FOLDER}/*-lift-*.toml"))
    text = world.read(path)
    world.git("reset", "-q", "--hard", "HEAD~1")
    return forge(world, path.replace("-dg.", "-np."), text.replace('by = "dg"', 'by = "np"'), who="np")


def by_xx(world, **how):
    return hold_text(
        world,
        change=lambda text: text.replace('by = "ss"', 'by = "xx"'),
        name=lambda path: path.replace("-ss.", "-xx."),
        who="xx",
        **how,
    )


@scene("by one who has left")
def _(world):
    return by_xx(world)


@scene("back dated by one who has left")
def _(world):
    then = world.now().replace(year=2025, month=3, day=1)
    return by_xx(world, entered=then, at=then)


@scene("author dated back by one who has left")
def _(world):
    then = world.now().replace(year=2025, month=3, day=1)
    return by_xx(world, entered=then, authored=then)


def shop(world, before, after, by=None):
    assert before in world.read("shop.toml")
    world.write("shop.toml", world.read("shop.toml").replace(before, after))
    if by is not None:
        world.shop.run("checkin", "shop.toml", "-m", "roles", "--by", by)


@scene("authority taken and used")
def _(world):
    shop(world, '["programmer"]', '["programmer", "setup"]', by="dg")
    world.shop.prove(by="np")
    return world.push("main")


@scene("authority taken in two commits")
def _(world):
    shop(world, '["programmer"]', '["programmer", "quality"]', by="dg")
    shop(world, 'roles = ["setup"]', 'roles = ["setup", "programmer"]', by="np")
    return world.push("main")


@scene("authority taken")
def _(world):
    shop(world, '["programmer"]', '["programmer", "quality"]')
    world.commit()
    return world.push("main")


@scene("key slipped in")
def _(world):
    shop(world, '["quality"]', '["quality", "setup"]')
    world.write(PROGRAM, world.read(PROGRAM) + "(NOTE)\n")
    world.commit(who="dg")
    return world.push("main")


@scene("shop.toml with a tag")
def _(world):
    shop(world, '["quality"]', '["quality", "setup"]', by="dg")
    world.git("tag", "v1")
    return world.push("main", "v1")


@scene("shop.toml other than recorded")
def _(world):
    shop(world, '["quality"]', '["quality", "setup"]', by="dg")
    shop(world, '["programmer"]', '["programmer", "quality"]')
    world.git("commit", "-qa", "--amend", "--no-edit")
    return world.push("main")


@scene("broken shop.toml")
def _(world):
    world.write("shop.toml", "format = = 1\n")
    world.commit(who="dg")
    return world.push("main")


# -- files
@scene("program made by a merge")
def _(world):
    other = world.second()
    other.write(PROGRAM, other.read(PROGRAM).replace("S2000", "S2200"))
    other.commit()
    assert other.push("main").returncode == 0
    world.write(PROGRAM, world.read(PROGRAM).replace("Z-1.16", "Z-1.26"))
    world.commit()
    world.git("fetch", "-q", "origin", "main")
    world.git("merge", "-q", "--no-edit", "FETCH_HEAD", check=False)
    world.write(PROGRAM, MAIN.replace("S2000", "S2200").replace("Z-1.16", "Z-1.26"))
    world.commit("merge")
    return world.push("main")


@scene("link")
def _(world):
    link(world, "jobs/4471/op10/O1009.nc", "/etc/passwd")
    world.commit()
    return world.push("main")


@scene("submodule")
def _(world):
    world.git("update-index", "--add", "--cacheinfo", f"160000,{world.head},common/lib")
    world.git("commit", "-q", "-m", "library")
    return world.push("main")


def by_index(name, *paths):
    """Files put into a commit without touching this disk, whose own rules may not allow them."""

    def run(world):
        blob = world.git("hash-object", "-w", "--stdin", stdin=MAIN.encode())
        for path in paths:
            world.git(
                "update-index", "--add", "-z", "--index-info", stdin=f"100644 {blob}\t{path}\0".encode()
            )
        world.git("commit", "-q", "-m", "files")
        return world.push("main")

    scene(name)(run)


by_index("names that differ in case", "jobs/4471/op10/o1001.nc")
by_index("names that differ in Unicode", "common/Ra\u0308nder.nc", "common/R\u00e4nder.nc")
by_index("reserved name", "common/AUX.nc")
by_index("trailing blank", "common/O1 ")
by_index("control character", "common/O1\nO2.nc")


@scene("huge file")
def _(world):
    world.git("config", "proveout.maxfile", "1", folder=world.server)
    world.write("common/O9.nc", "X0 " * (1 << 20))
    world.commit()
    return world.push("main")


@scene("line ends altered")
def _(world):
    world.write(".gitattributes", world.read(".gitattributes") + "*.nc text eol=crlf\n")
    world.commit()
    return world.push("main")


@scene("bytes no longer kept")
def _(world):
    world.write(".gitattributes", world.read(".gitattributes").replace("* -text\n", ""))
    world.commit()
    return world.push("main")


# -- rules of the checks
def under_old_rules(world, *, version=1):
    """r2 calls a wrong H; its record names old rules and no finding, and the program that releases runs no check."""
    set_ = world.monkeypatch.setattr
    set_("tracker.services.findings_kept.CHECKS_VERSION", version)
    set_("tracker.services.findings_kept.kept", lambda _said: ())
    set_("tracker.services.release.judged_again", lambda facts, _ledger: facts.operations)
    world.write(PROGRAM, world.read(PROGRAM).replace("G43 H4", "G43 H9"))
    world.shop.run("checkin", "4471", "-m", "x", "--by", "np")
    text = world.read(world.record(f"{FOLDER}/r0002-????????.toml"))
    assert f"checks_version = {version}\n" in text
    assert "h-not-tool" not in text
    world.shop.prove(revision="r2")


@scene("old rules named")
def _(world):
    under_old_rules(world)
    world.release()
    return world.push("--atomic", "main", SECOND)


@scene("old rules named long before")
def _(world):
    under_old_rules(world)
    assert world.push("main").returncode == 0  # nothing found stands in the way of a check-in
    world.release()
    return world.push("--atomic", "main", SECOND)


@scene("rules to come named")
def _(world):
    under_old_rules(world, version=10**6)
    world.release()
    return world.push("--atomic", "main", SECOND)


# -- git itself
@scene("damaged object")
def _(world):
    tree = world.git("rev-parse", "HEAD^{tree}")
    text = f"tree {tree}\nparent {world.head}\nauthor np <np{EMAIL} 0 +0000\ncommitter np <np{EMAIL}> 0 +0000\n\nx\n"
    bad = world.git("hash-object", "-t", "commit", "--literally", "-w", "--stdin", stdin=text.encode())
    return world.push(f"{bad}:refs/heads/bad")


@scene("grafts on the server")
def _(world):
    (world.server / "info").mkdir(exist_ok=True)
    (world.server / "info/grafts").write_text(f"{world.head}\n")
    note(world)
    return world.push("main")


@scene("shallow server")
def _(world):
    (world.server / "shallow").write_text(f"{world.git('rev-parse', 'HEAD~1')}\n")
    note(world)
    return world.push("main")
