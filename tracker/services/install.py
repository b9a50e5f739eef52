"""``install``: what this PC needs so that plain git works with the record; and ``--undo``.

In a clone: the hook that asks the gate before a release tag changes, git's diff driver for programs, and the
attributes that keep bytes and merges as they are, also where the tracked file is missing. On a server: the hook that
judges a whole push. Whatever was there before is kept; only what is ours is ever taken away.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from tracker.errors import BadCall, Refused
from tracker.nc.identity import RULE_VERSION
from tracker.services.init import attributes_text
from tracker.services.ports_setup import LOCAL_HOOK, SERVER_HOOK, SetUp

DRIVER = "diff.nc.textconv"
CACHE = "diff.nc.cachetextconv"
HEADING = "diff.nc.xfuncname"
DIFFTOOL = "difftool.proveout.cmd"
# what makes a plain git difftool use ours, without asking at every file; only where nobody chose otherwise
_CHOSEN = (("diff.tool", "proveout"), ("difftool.prompt", "false"))
SHARED = "proveout.shared"
MACHINE = "proveout.machine"
_OURS = "proveout.set"
# a line of the canonical text that tells where one is: the program's number, a tool change
_HEADING = "^(O[0-9]+.*|.*T[0-9]+.*M6.*|.*M6.*T[0-9]+.*)$"
OVER = "proveout.over"
WAYS = ("ssh", "https", "folder")
GUARDED, COURTESY = "guarded", "courtesy"
# what git itself can do: damaged objects are turned away at the door, branches are not taken back, every move of a
# reference is written down, and no push is larger than a shop's whole record should ever be
_SERVER_SETTINGS = (
    ("receive.fsckObjects", "true"),
    ("transfer.fsckObjects", "true"),
    ("core.logAllRefUpdates", "always"),
    ("receive.maxInputSize", "4g"),
    ("receive.denyNonFastForwards", "true"),
    ("receive.denyDeletes", "true"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """One thing that was looked after: ``what`` it is, and what became of it (``state``) in a word.

    ``state``: written, kept (it was as it should be), removed, absent (nothing of ours was there).
    """

    what: str
    state: str
    where: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class InstallReport:
    """What was done to which repository, and what a person should know.

    ``guard``: of a server, guarded where pushes come by ssh or https, courtesy where nobody said so.
    """

    root: str
    undone: bool
    server: bool
    actions: tuple[Done, ...]
    notes: tuple[str, ...] = ()
    guard: str | None = None


def install(setup: SetUp, *, shared: bool = False, machine: str | None = None) -> InstallReport:
    """Set up a clone.

    The version of the rules stands in the driver's command, so that git forgets answers by older rules.

    Args:
        setup: the clone.
        shared: several people use this PC: it never stands for one of them.
        machine: id of the machine it stands at, as in shop.toml: the verbs of setup mean it where none is named.

    Raises:
        BadCall: ``bare-repository``.
        Refused: ``hooks-in-tree``, ``hooks-elsewhere``, ``hook-in-the-way``.
    """
    if setup.bare:
        raise BadCall(
            "bare-repository",
            "this is a bare repository: nobody works in it",
            where=setup.root,
            fix=f"proveout install --server {setup.root}",
        )
    actions = [_put_hook(setup, LOCAL_HOOK)]
    ready = setup.driver_file() and setup.setting(DRIVER) == setup.driver(RULE_VERSION)
    if not ready:
        setup.put_driver()
    wanted = [(DRIVER, setup.driver(RULE_VERSION)), (CACHE, "true"), (HEADING, _HEADING)]
    states = [put_setting(setup, name, value) for name, value in wanted]
    changed = not ready or "written" in states
    actions.append(Done(what="git diff shows programs as NC text", state="written" if changed else "kept"))
    setup.write_attributes(attributes_text(setup.paths()))
    actions.append(Done(what="line ends and merges of programs left alone in this clone", state="kept"))
    actions.append(_put_difftool(setup))
    if shared:
        actions.append(
            Done(
                what="this PC stands for nobody: --by is always asked",
                state=put_setting(setup, SHARED, "true"),
            )
        )
    if machine is not None:
        what = f"this PC stands at {machine}: it is meant where --machine is left out"
        actions.append(Done(what=what, state=put_setting(setup, MACHINE, machine)))
    return InstallReport(
        root=setup.root, undone=False, server=False, actions=tuple(actions), notes=(_COURTESY,)
    )


_COURTESY = "The hook in a clone guards against accident only: status, export, audit and the server judge every release again."
_GUARDS = {
    "ssh": "Guarded: pushes come by ssh, so the hook runs on the server, out of reach of who pushes.",
    "https": "Guarded: pushes come by https, so the hook runs on the server, out of reach of who pushes.",
    "folder": "A courtesy: on a plain shared folder the hook runs on the PC that pushes, and whoever may write there can "
    "go round it. It guards where pushes come by ssh or https.",
}
_NOT_SAID = (
    "A courtesy as long as nobody says how pushes come: proveout install --server FOLDER --over ssh (or https, folder). "
    "Nothing here can see it: through a plain shared folder this hook runs on the pushing PC."
)
_LEFT = "The attributes stay: they keep line ends and merges of programs as they are."


def install_server(
    setup: SetUp,
    *,
    over: str | None = None,
    main: str | None = None,
    begin_journal: Callable[[], bool] = lambda: False,
) -> InstallReport:
    """Set up a bare repository.

    ``over``: how pushes come, one of `WAYS`; None leaves it as it was said before. ``main``: the branch of the shop in hand,
    for a repository without any branch. ``begin_journal``: begins the receive
    journal with the references as they are, and says whether it had not begun yet.

    Raises BadCall (``not-bare``, ``wrong-call``), Refused (``hooks-elsewhere``, ``hook-in-the-way``).
    """
    if over is not None and over not in WAYS:
        raise BadCall("wrong-call", f"--over is {over!r}", fix=f"say one of: {', '.join(WAYS)}")
    must_be_bare(setup)
    actions = [_put_hook(setup, SERVER_HOOK)]
    _note_as_ours(setup, (OVER,) if over is not None else (), _SERVER_SETTINGS)
    for name, value in _SERVER_SETTINGS:
        if setup.setting(name) is None:
            setup.put_setting(name, value)
            actions.append(Done(what=name, state="written"))
        else:
            actions.append(Done(what=f"{name} = {setup.setting(name)}", state="kept"))
    actions += _main_branch(setup, main)
    if over is not None:
        actions.append(Done(what=f"pushes come by {over}", state=put_setting(setup, OVER, over)))
    state = "written" if begin_journal() else "kept"
    actions.append(Done(what="every push is put down in the receive journal", state=state))
    said = setup.setting(OVER) or ""
    return InstallReport(
        root=setup.root,
        undone=False,
        server=True,
        actions=tuple(actions),
        notes=(_GUARDS.get(said, _NOT_SAID),),
        guard=GUARDED if said in ("ssh", "https") else COURTESY,
    )


def _main_branch(setup: SetUp, main: str | None) -> Iterator[Done]:
    """Whose shop.toml counts is told by HEAD, and git may have it name a branch nobody has: it shall name the shop's."""
    named, there = setup.branches()
    wanted = there[0] if len(there) == 1 else main if not there else None
    if wanted is not None and named not in there and named != wanted:
        setup.put_main_branch(wanted)
        yield Done(
            what=f"the main branch is {wanted}: HEAD named {named}, which is not there", state="written"
        )
    elif named in there or not there:
        yield Done(what=f"the main branch is {named}", state="kept")


def undo(setup: SetUp, more: Sequence[Done] = ()) -> InstallReport:
    """Take away what `install` put into a clone; ``more`` of it was taken away already."""
    actions = [_drop_hook(setup, LOCAL_HOOK)]
    ours = _is_ours(setup)
    if ours:
        # what it is told by goes last: one that ends before is gone on with
        for name in (CACHE, HEADING, DRIVER):
            setup.drop_setting(name)
    tool = _drop_difftool(setup)
    setup.drop_driver()
    actions.append(Done(what="git diff shows programs as NC text", state="removed" if ours else "absent"))
    actions.append(tool)
    for name, what in ((SHARED, "this PC stands for nobody"), (MACHINE, "this PC stands at a machine")):
        if setup.setting(name) is not None:
            setup.drop_setting(name)
            actions.append(Done(what=what, state="removed"))
    return InstallReport(
        root=setup.root, undone=True, server=False, actions=(*actions, *more), notes=(_LEFT,)
    )


def undo_server(setup: SetUp) -> InstallReport:
    """Take away what `install_server` put into a bare repository; settings somebody else made stay."""
    must_be_bare(setup)
    actions = [_drop_hook(setup, SERVER_HOOK)]
    chosen = dict(_SERVER_SETTINGS)
    for name in (setup.setting(_OURS) or "").split():
        found = setup.setting(name)
        # one that was chosen otherwise since is not ours any more
        if found is not None and found == chosen.get(name, found):
            setup.drop_setting(name)
            actions.append(Done(what=name, state="removed"))
    setup.drop_setting(_OURS)
    return InstallReport(root=setup.root, undone=True, server=True, actions=tuple(actions))


def must_be_bare(setup: SetUp) -> None:
    """Raise BadCall (``not-bare``) for a clone people work in, where a server's repository was named."""
    if not setup.bare:
        raise BadCall(
            "not-bare",
            "this is a clone people work in, not a bare repository",
            where=setup.root,
            fix="name the repository everybody pushes to, or leave --server out",
        )


def _put_difftool(setup: SetUp) -> Done:
    """Our command, and that git takes it unasked where nobody chose another tool."""
    states = [put_setting(setup, DIFFTOOL, setup.difftool())]
    if setup.setting("diff.tool") in (None, "proveout"):
        states += _note_as_ours(setup, (), _CHOSEN)
        states += [put_setting(setup, name, value) for name, value in _CHOSEN if setup.setting(name) is None]
        what = "git difftool compares programs tool by tool"
    else:
        what = "git difftool --tool proveout compares programs tool by tool; the tool chosen here stays"
    return Done(what=what, state="written" if "written" in states else "kept")


def _note_as_ours(setup: SetUp, always: Sequence[str], where_free: Sequence[tuple[str, str]]) -> list[str]:
    """Note settings as ours before they are set: a call that ends in between is gone on with, and can be undone.

    ``where_free``: those of them that nobody has chosen. Returns what became of the note, if there is one.
    """
    noted = (setup.setting(_OURS) or "").split()
    free = [name for name, _ in where_free if setup.setting(name) is None]
    mine = " ".join(dict.fromkeys((*noted, *free, *always)))
    return [put_setting(setup, _OURS, mine)] if mine else []


def _drop_difftool(setup: SetUp) -> Done:
    there = setup.setting(DIFFTOOL) is not None
    chosen = dict(_CHOSEN)
    for name in (setup.setting(_OURS) or "").split():
        if setup.setting(name) == chosen.get(name):  # since chosen otherwise: not ours any more
            setup.drop_setting(name)
    for name in (DIFFTOOL, _OURS):
        setup.drop_setting(name)
    return Done(what="git difftool compares programs tool by tool", state="removed" if there else "absent")


def _is_ours(setup: SetUp) -> bool:
    """Whether the diff driver in force is one that some version of ours wrote."""
    return "nc-text" in (setup.setting(DRIVER) or "")


def _put_hook(setup: SetUp, name: str) -> Done:
    place, folder = setup.hooks_place()
    if place != "own":
        raise _hooks_not_own(place, folder)
    before = setup.hook(name)
    right = before.state == "ours" and before.runs
    if not right:
        setup.put_hook(name)
    what = (
        "the gate is asked before a release tag changes"
        if name == LOCAL_HOOK
        else "the gate judges every push"
    )
    if setup.hook(name).kept:
        what += "; the hook that was there before still runs"
    return Done(what=what, state="kept" if right else "written", where=before.path)


def _hooks_not_own(place: str, folder: str) -> Refused:
    if place == "tree":
        return Refused(
            "hooks-in-tree",
            "git is told to take its hooks from the working folder (core.hooksPath): whatever is pulled would run",
            where=folder,
            fix="git config --unset core.hooksPath, then run it again",
        )
    return Refused(
        "hooks-elsewhere",
        "git is told to take its hooks from a folder outside this repository (core.hooksPath), which others share",
        where=folder,
        fix='give this clone its own: git config --local core.hooksPath "$(git rev-parse --git-common-dir)/hooks"; '
        "copy what you need of the others there, then run it again",
    )


def _drop_hook(setup: SetUp, name: str) -> Done:
    before = setup.hook(name)
    ours = before.state in ("ours", "old")
    if ours:
        setup.drop_hook(name)
    what = "the hook" if not before.kept else "the hook; the one that was there before has its name again"
    return Done(what=what, state="removed" if ours else "absent", where=before.path)


def put_setting(setup: SetUp, name: str, value: str) -> str:
    """Set it; "kept" where it was so already, else "written"."""
    if setup.setting(name) == value:
        return "kept"
    setup.put_setting(name, value)
    return "written"
