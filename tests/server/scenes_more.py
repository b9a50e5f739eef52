"""How the attacks of `tests.server.attacks_more` are done."""

import re
from datetime import timedelta

from tests.fakes.shop_folder import MAIN, PROGRAM
from tests.server.scenes import FOLDER, SECOND, edit_on_r3, forge, hold, proof, released
from tests.server.world import stamp
from tracker.digest import sha256_of

MORE_SCENES = {}
PROGRAMMER = (
    '[[people]]\ninitials = "pp"\nname = "Pia Pencil"\nemail = "pp@shop.example"\nroles = ["programmer"]\n'
)
RECORD = "jobs/4471/records/release-0002.toml"


def scene(name):
    def keep(function):
        assert name not in MORE_SCENES
        MORE_SCENES[name] = function
        return function

    return keep


def strike(world, path, by):
    """A strike of this record, made by hand as somebody would have it."""
    parts = path.rpartition("/")[2].split("-")
    revision = "-".join(parts[:2]) if re.fullmatch(r"r\d{4}", parts[0]) else None
    revision = revision.removesuffix(".toml") if revision else None
    operation = "op10" if "/op10/" in path else None
    head = ["format = 1", 'event = "strike"', 'job = "4471"']
    head += [f'operation = "{operation}"'] if operation else []
    head += [f'revision = "{revision}"'] if revision else []
    head += ['at = "x"', 'entered = "x"', f'by = "{by}"', 'reason = "a slip"', f'record = "{path}"', ""]
    now = f"{world.now():%Y%m%dT%H%M%SZ}"
    name = f"{revision}-strike-{now}-{by}" if revision else f"{now}-strike-{by}"
    return forge(world, f"{path.rpartition('/')[0]}/{name}.toml", "\n".join(head), who=by)


@scene("strike of a hold")
def _(world):
    hold(world)
    assert world.push("main").returncode == 0
    return strike(world, world.record(f"{FOLDER}/*-hold-*.toml"), "np")


@scene("strike of another's proof")
def _(world):
    return strike(world, proof(world), "np")


@scene("strike of a revision")
def _(world):
    return strike(world, world.record(f"{FOLDER}/r0001-????????.toml"), "np")


@scene("strike of a release")
def _(world):
    return strike(world, "jobs/4471/records/release-0001.toml", "dg")


@scene("countersigned by the prover")
def _(world):
    head = world.read(proof(world)).split("machine = ")[0].replace('event = "proof"', 'event = "countersign"')
    name = proof(world).replace("-proof-MILL2-", "-countersign-")
    return forge(world, name, head + f'proof = "{proof(world)}"\n', who="ss")


@scene("reviewed by the writer")
def _(world):
    edit_on_r3(world)
    first, second = sorted(path.stem for path in world.folder.glob(f"{FOLDER}/r????-????????.toml"))
    head = world.read(f"{FOLDER}/{second}.toml").split("operation_fingerprint")[0]
    head = re.sub(r'revision = ".*"', f'revision = "{second}"', head).replace('"revision"\n', '"review"\n', 1)
    name = f"{FOLDER}/{second}-review-{world.now():%Y%m%dT%H%M%SZ}-np.toml"
    return forge(world, name, head + f'from = "{first}"\nkinds = ["coolant"]\n', who="np")


def made_anew(world, change, who):
    """The record of the last commit, changed, as somebody else commits it; nothing of it was pushed."""
    (path,) = world.git("show", "--name-only", "--format=", "HEAD").split()
    world.git("reset", "-q", "--soft", "HEAD~1")
    return forge(world, path, change(world.read(path)), who=who)


def entered_by(name):
    return lambda text: re.sub(r'(?m)^(by = ".*")$', rf'\1\nentered_by = "{name}"', text, count=1)


@scene("lift entered for quality")
def _(world):
    hold(world)
    assert world.push("main").returncode == 0
    world.shop.run("lift", "4471/op10", "--by", "dg", "-m", "seen to")
    return made_anew(world, entered_by("np"), "np")


@scene("proof entered for setup")
def _(world):
    world.shop.prove()
    return made_anew(world, entered_by("np"), "np")


@scene("release entered for quality")
def _(world):
    return put_together(world, entered_by("np"), who="np")


@scene("entered by nobody")
def _(world):
    hold(world)
    return made_anew(world, entered_by("zz"), "ss")


@scene("review entered by the writer")
def _(world):
    text = world.read("shop.toml").replace("[[people]]", f"{PROGRAMMER}[[people]]", 1)
    world.write("shop.toml", text)
    world.shop.run("checkin", "shop.toml", "-m", "a second programmer", "--by", "dg")
    assert world.push("main").returncode == 0
    world.write(PROGRAM, world.read(PROGRAM).replace("M8", "M7"))
    world.shop.run("checkin", "4471", "-m", "mist", "--by", "np")
    world.shop.run("review", "4471/op10", "--by", "pp", "-m", "read", "--yes")
    return made_anew(world, entered_by("np"), "np")


@scene("machine lifted unchecked")
def _(world):
    world.shop.run("hold", "--machine", "MILL2", "--because", "crash", "--by", "ss")
    assert world.push("main").returncode == 0
    world.shop.run("lift", "--machine", "MILL2", "--check", "geometry", "--by", "dg", "-m", "level again")
    return made_anew(world, lambda text: text.replace('check = "geometry"', 'check = " "'), "dg")


def proof_of_r2(world, change):
    """A proof of r2, which cuts deeper than r1, made from the one of r1; not committed. Its path."""
    edit_on_r3(world)
    name, text = proof(world).rpartition("/")[2], world.read(proof(world))
    second = world.record(f"{FOLDER}/r0002-????????.toml")
    (printed,) = re.findall(r"(?m)^operation_fingerprint = .*$", world.read(second))
    text = re.sub(r"(?m)^operation_fingerprint = .*$", printed, text)
    stem = second.rpartition("/")[2].removesuffix(".toml")
    return f"{FOLDER}/{stem}{name[14:]}", change(text.replace(name[:14], stem), world.read(second))


def with_new(*keys):
    """A change of a proof of r1: of its programs these keys are as r2 has them."""

    def change(text, revision):
        for key in keys:
            old, new = (re.findall(rf'(?m)^{key} = "(.*)"', each) for each in (text, revision))
            for before, after in zip(old, new, strict=True):
                text = text.replace(before, after)
        return text

    return change


@scene("proof of other code run")
def _(world):
    return forge(world, *proof_of_r2(world, lambda text, revision: text))


@scene("proof of nothing run")
def _(world):
    text = world.read(proof(world))
    kept = re.sub(r"(?ms)^\[\[files\]\]\n.*?(?=^\[|\Z)", "", text)
    assert "[[files]]" in text
    assert "[[files]]" not in kept
    return forge(world, proof(world).replace("-ss.", "-2-ss."), kept)


@scene("proof of one program less")
def _(world):
    text = world.read(proof(world))
    (called,) = re.findall(r"(?ms)^\[\[files\]\]\n(?:(?!^\[).)*?O1002.*?(?=^\[|\Z)", text)
    return forge(world, proof(world).replace("-ss.", "-2-ss."), text.replace(called, ""))


def released_past(world, rule):
    """A release made by a tool that does not ask this rule; not pushed."""
    with world.monkeypatch.context() as patch:
        patch.setattr(f"tracker.policy.proofs.{rule}", lambda *_: None)
        world.release()


def past_the_hook(world):
    """What is here comes in unlooked at, as it would have before a rule was asked."""
    hook = world.server / "hooks" / "pre-receive"
    kept = hook.read_bytes()
    hook.unlink()
    assert world.push("main").returncode == 0
    hook.write_bytes(kept)
    hook.chmod(0o755)


@scene("release on the bytes of another text")
def _(world):
    done = forge(world, *proof_of_r2(world, with_new("fingerprint")))
    assert done.returncode == 0, done.stderr
    released_past(world, "other_code")
    return world.push("--atomic", "main", SECOND)


def on_paper(text, evidence=""):
    """The same proof as one kept on paper."""
    place = text.index("\n[") + 1
    return text[:place] + f"[prior]\n{evidence}\n" + text[place:]


@scene("paper nobody can find")
def _(world):
    return forge(world, proof(world).replace("-ss.", "-2-ss."), on_paper(world.read(proof(world))))


@scene("paper that renews")
def _(world):
    text = on_paper(world.read(proof(world)), 'evidence = "card 12, cabinet 2"')
    return forge(
        world, proof(world).replace("-ss.", "-2-ss."), text.replace("[prior]", "again = true\n[prior]")
    )


@scene("release on paper nobody can find")
def _(world):
    until = (world.now() + timedelta(days=90)).date().isoformat()
    world.write(
        "shop.toml",
        world.read("shop.toml").replace("[[people]]", f"[policy]\nprior_until = {until}\n[[people]]", 1),
    )
    world.shop.run("checkin", "shop.toml", "-m", "paper for a while", "--by", "dg")
    past_the_hook(world)

    path, text = proof_of_r2(world, with_new("fingerprint", "raw_sha256"))
    assert forge(world, path, on_paper(text)).returncode == 1
    past_the_hook(world)
    released_past(world, "paper_lacks")
    return world.push("--atomic", "main", SECOND)


@scene("release of another job's record")
def _(world):
    message = world.git("tag", "-l", "--format=%(contents)", "release/4471/1")
    return world.push(world.tag("release/4472/1", message=message))


def put_together(world, change, who="dg"):
    """An honest release 2 whose record is changed before anything is pushed, with a tag that names the changed one."""
    released(world, 2)
    text = world.read(RECORD)
    world.write(RECORD, change(text))
    assert world.read(RECORD) != text
    world.git("add", "-A")
    world.git("commit", "-q", "--amend", "--no-edit", "--reset-author", who=who)
    digest = sha256_of((world.folder / RECORD).read_bytes())
    world.git("tag", "-d", "release/4471/2")
    world.tag("release/4471/2", message=f"4471 release 2\n\nrecord: {RECORD}\nsha256: {digest}")
    return world.push("--atomic", "main", SECOND)


@scene("release of no operation")
def _(world):
    return put_together(world, lambda text: text[: text.index("[[operations]]")])


@scene("release that leaves evidence out")
def _(world):
    def without_proof(text):
        rows = text.split("[[operations.relied_on]]")
        return "[[operations.relied_on]]".join(row for row in rows if "-proof-" not in row)

    return put_together(world, without_proof)


@scene("release on evidence of another hash")
def _(world):
    return put_together(world, lambda text: re.sub(r'(sha256 = ")....', r"\1beef", text, count=1))


@scene("release of another number")
def _(world):
    return put_together(world, lambda text: text.replace("number = 2", "number = 7"))


@scene("release by a programmer")
def _(world):
    return put_together(world, lambda text: text.replace('by = "dg"', 'by = "np"'), who="np")


@scene("release kept back")
def _(world):
    released(world, 2)
    assert world.push("main").returncode == 0
    other = world.second()
    hold(other)
    assert other.push("main").returncode == 0
    return world.push(SECOND)


@scene("one among three hundred")
def _(world):
    for number in range(300):
        world.git("update-ref", f"refs/tags/v{number}", world.head)
    return world.push("--tags", world.tag("release/4471/2"))


@scene("shop.toml of a newer format")
def _(world):
    world.write("shop.toml", world.read("shop.toml").replace("format = 1", "format = 2", 1))
    world.commit(who="dg")
    return world.push("main")


def attributes(world, text):
    world.write("jobs/4471/.gitattributes", text)
    world.commit()
    return world.push("main")


@scene("attributes of one folder")
def _(world):
    return attributes(world, "*.nc filter=x ident\n")


@scene("merge by lines")
def _(world):
    return attributes(world, "*.nc merge=union\n")


def named(name, path):
    """A file of this name, past this disk, whose own rules may not allow it."""

    def run(world):
        blob = world.git("hash-object", "-w", "--stdin", stdin=MAIN.encode()).encode()
        world.git("update-index", "--add", "-z", "--index-info", stdin=b"100644 %b\t%b\0" % (blob, path))
        world.git("commit", "-q", "-m", "file")
        return world.push("main")

    scene(name)(run)


named("name of a stream", b"common/O1.nc:x")
named("path of Windows", b"common/..\\..\\x.nc")
named("name that is no UTF-8", b"common/\xff\xfe.nc")


@scene("another shop's history")
def _(world):
    hold(world)
    assert world.push("main").returncode == 0
    tip, shop = world.head, world.read("shop.toml")
    world.shop.run("lift", "4471/op10", "--by", "dg", "-m", "fine")
    path = world.record(f"{FOLDER}/*-lift-*.toml")
    text = re.sub(r'(?m)^(at|entered) = ".*"', rf'\1 = "{stamp(world.now())}"', world.read(path))
    world.git("reset", "-q", "--hard", tip)
    world.git("checkout", "-q", "--orphan", "side")
    world.git("rm", "-rqf", ".")
    world.write("shop.toml", shop.replace('["programmer"]', '["programmer", "quality"]'))
    world.write(path.replace("-dg.", "-np."), text.replace('by = "dg"', 'by = "np"'))
    world.commit()
    world.git("checkout", "-q", "-B", "main", tip)
    world.git("merge", "-q", "--no-commit", "--allow-unrelated-histories", "-X", "ours", "side", check=False)
    world.git("checkout", "-q", tip, "--", "shop.toml")
    world.commit("merge")
    assert PROGRAM in world.git("ls-files")
    return world.push("main")


@scene("release tag in another's name")
def _(world):
    world.release()
    data = world.git("cat-file", "tag", SECOND) + "\n"
    assert data.count("<dg@shop.example>") == 1
    data = data.replace("<dg@shop.example>", "<np@shop.example>")
    world.git(
        "update-ref", SECOND, world.git("hash-object", "-t", "tag", "-w", "--stdin", stdin=data.encode())
    )
    return world.push("--atomic", "main", SECOND)


def quality_no_more(world):
    """ss loses a role on main; the server's HEAD names a branch nobody has, as git sets it up."""
    before = world.head
    world.write("shop.toml", world.read("shop.toml").replace('roles = ["setup"]', 'roles = ["programmer"]'))
    world.shop.run("checkin", "shop.toml", "-m", "roles", "--by", "dg")
    assert world.push("main").returncode == 0
    world.git("symbolic-ref", "HEAD", "refs/heads/master", folder=world.server)
    return before


@scene("old state where HEAD names nothing")
def _(world):
    return world.push(f"{quality_no_more(world)}:refs/heads/aaa")


@scene("old state as the branch HEAD names")
def _(world):
    return world.push(f"{quality_no_more(world)}:refs/heads/master")
