"""What the tests of `share` against a server that guards have in common: small changes, and what the server holds after them."""

from tests.fakes.shop_folder import PROGRAM


def people(world, roles='roles = ["setup", "programmer"]', why="ss programs too"):
    """ss programs too."""
    text = world.read("shop.toml")
    world.write("shop.toml", text.replace('roles = ["setup"]', roles, 1))
    world.shop.run("checkin", "shop.toml", "-m", why, "--by", "dg")


def hold(world, why, by="ss"):
    world.shop.run("hold", "4471/op10", "--by", by, "-m", why)


def edit(world, by):
    world.write(PROGRAM, world.read(PROGRAM) + "(NOTE)\n")
    world.shop.run("checkin", "4471", "-m", "note", "--by", by)


def refused_record(world):
    """A note in a folder for records, which the server turns away, and everything after it with it."""
    world.write("jobs/4471/records/op10/notes.txt", "no record")
    world.commit("what is no record")


def faster(world, other, pull=""):
    """The other clone sends what it has after this one's first push, right before its second."""
    for key, text in (("name", "np"), ("email", "np@shop.example")):
        other.git("config", f"user.{key}", text)
    hook = world.folder / ".git/hooks/pre-push"
    hook.write_text(
        "#!/bin/sh\n[ -e .git/done ] && exit 0\n[ -e .git/first ] || { : > .git/first; exit 0; }\n: > .git/done\n"
        f"unset GIT_DIR GIT_INDEX_FILE\ncd '{other.folder}' && {pull}git push -q origin main\n",
        encoding="utf-8",
    )
    hook.chmod(0o755)


def there(world, ref="main"):
    return world.git("rev-parse", ref, folder=world.server)


def stops_there(world):
    names = world.git("ls-tree", "-r", "--name-only", "main", folder=world.server).splitlines()
    return [name for name in names if "-hold-" in name]
