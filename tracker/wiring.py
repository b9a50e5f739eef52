"""The only place where real git and the real clock are put together."""

import os
from dataclasses import replace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from tracker.clock import Clock, SetClock, SystemClock, parse_time
from tracker.errors import BadCall
from tracker.services.desk import Desk
from tracker.store.clone import Clone
from tracker.store.open_clone import open_clone
from tracker.store.sharing_note import is_noted

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from tracker.records.shop import Stick
    from tracker.services.progress import Tell
    from tracker.stick.medium import FolderMedium
    from tracker.store.create import Folder
    from tracker.store.drawer import WorkDrawer
    from tracker.store.evidence import CloneEvidence
    from tracker.store.old_files import OldFiles
    from tracker.store.past import ClonePast
    from tracker.store.setup_site import Site
    from tracker.store.sharing import Sharing

NOW = "PROVEOUT_NOW"
SHARED = "proveout.shared"
MACHINE = "proveout.machine"


def open_clock() -> Clock:
    """The clock of this PC, or the time ``PROVEOUT_NOW`` sets (RFC 3339); raises BadCall (``bad-clock``)."""
    text = os.environ.get(NOW)
    if not text:
        return SystemClock(lambda: datetime.now(UTC))
    try:
        return SetClock(parse_time(text))
    except ValueError as fault:
        raise BadCall(
            "bad-clock",
            f"{NOW} is set to {text!r}, which is no time: {fault}",
            fix=f"write it like 2026-03-11T09:15:02Z, or take {NOW} out of the environment",
        ) from fault


def open_desk(folder: str = ".") -> Desk:
    """The desk in this folder: its clone, the clock, and the e-mail address git knows this person by.

    Raises BadCall (``bad-clock``), CouldNot (``no-git``, ``no-repository``, ``dubious-ownership``, ...).
    """
    return _desk(open_clone(folder))


def open_view(folder: str = ".", *, answers: bool = True) -> Desk:
    """The desk in this folder for a verb that only shows something: what was read before is taken from the index.

    ``answers``: whole answers too, where the use case knows of them (`tracker.services.ports_kept`). Raises as `open_desk` does.
    """
    clone = open_clone(folder)
    clone.look_back()
    desk = _desk(clone)
    return replace(desk, kept=clone.answers()) if answers else desk


def open_gate(folder: str = ".") -> Desk:
    """The desk as a hook of git has it: in the repository git named, incoming objects of a push in sight.

    Raises as `open_desk` does.
    """
    return _desk(open_clone(folder, hook=True), settled=False)


def _desk(clone: Clone, *, settled: bool = True) -> Desk:
    """``settled``: what a killed share left is brought to its end first, since it would pass for somebody's edits."""
    clock = open_clock()
    clone.settle = partial(_settle, clone)
    if settled and is_noted(clone.git_dir):
        from tracker.store.sharing_settle import settle_softly

        settle_softly(clone)
    shared = clone.config.get(SHARED, "").lower() in ("true", "yes", "on", "1")
    return Desk(
        repo=clone,
        clock=clock,
        email=None if shared else clone.config.get("user.email"),
        machine=clone.config.get(MACHINE) or None,
        signer=lambda: clone.signing,
        verify=_verify,
        last_share=partial(_last_share, clone),
    )


def _last_share(clone: Clone) -> datetime | None:
    """When this clone last shared; never, where it knows no other place."""
    from tracker.store.share_stamp import has_remote, last_share

    return last_share(clone.git_dir, clone.common_dir) if has_remote(clone.config) else None


def _settle(clone: Clone, paths: "Collection[str]") -> None:
    """What a check-in of these paths does first, where a share was cut short."""
    if is_noted(clone.git_dir):
        from tracker.store.sharing_settle import settle_before

        settle_before(clone, paths)


def _verify(record: bytes, armoured: bytes) -> tuple[str | None, str]:
    """`tracker.services.ports_sign.Verify`, loaded when the first signature is looked at."""
    from tracker.records.signatures import NAMESPACE
    from tracker.store.sshsig import BadSignatureError, verify

    try:
        return verify(record, armoured, NAMESPACE), ""
    except BadSignatureError as fault:
        return None, str(fault)


def open_evidence(
    folder: str = ".", *, anew: bool = False, noting: bool = True
) -> "tuple[Desk, CloneEvidence]":
    """The desk in this folder, and the whole history of its clone as an audit looks at it.

    ``anew``: nothing is believed that this clone noted before. ``noting``: whether an index is begun where there is none.
    """
    from tracker.store.evidence import CloneEvidence

    clone = open_clone(folder)
    return _desk(clone), CloneEvidence(clone, anew=anew, noting=noting)


def open_setup(folder: str = ".") -> "Site":
    """The set-up of the repository this folder lies in, on this PC; raises CouldNot as `open_desk` does."""
    from tracker.store.setup_site import Site

    return Site(open_clone(folder))


def open_sharing(folder: str = ".", *, quiet: bool = False) -> "tuple[Desk, Sharing]":
    """The desk in this folder, and the shared repository as its clone reaches it.

    Git may ask for a password only on a terminal, and tells its progress there unless ``quiet``.
    """
    from tracker.store.sharing import Sharing
    from tracker.store.sharing_wire import Wire, on_terminal, to_screen

    clone = open_clone(folder)
    desk = _desk(clone)
    seen = on_terminal()
    wire = Wire(git=clone.git, may_ask=seen, shown=to_screen if seen and not quiet else None)
    return desk, Sharing(clone, wire)


def open_drawer(folder: str = ".", *, only_looks: bool = False) -> "tuple[Desk, WorkDrawer]":
    """The desk in this folder, and what puts new files into its working folder; raises as `open_desk` does.

    ``only_looks``: for a verb that only shows something, as `open_view`.
    """
    from tracker.store.drawer import WorkDrawer

    clone = open_clone(folder)
    if only_looks:
        clone.look_back()
    return _desk(clone), WorkDrawer(clone, Path(folder))


def open_past(folder: str = ".") -> "tuple[Desk, ClonePast]":
    """The desk in this folder, and the history of the branch in hand; raises as `open_desk` does."""
    from tracker.store.past import ClonePast

    clone = open_clone(folder)
    return _desk(clone), ClonePast(clone)


def open_old_folders(folder: str, names: "Sequence[str]") -> "tuple[Desk, list[OldFiles]]":
    """The desk in this folder, and folders of old programs named from there.

    Raises BadCall (``no-such-folder``), and as `open_desk` does.
    """
    from tracker.store.old_files import OldFiles

    clone = open_clone(folder)
    return _desk(clone), [OldFiles(Path(clone.root), Path(folder), name) for name in names]


def open_folder(folder: Path) -> "Folder":
    """The folder a shop is made in; made where there is none. Raises BadCall (``is-a-file``) and CouldNot."""
    from tracker.store.create import Folder

    return Folder(folder)


def data_folder(name: str) -> Path:
    """The folder ``hooks`` or ``sample_repo`` that came with the program."""
    from tracker.store.data import data_folder as found

    return found(name)


def open_stick(
    folder: str, name: "str | Stick", tell: "Tell | None" = None, *, forget: bool = False
) -> "FolderMedium":
    """The stick in a folder named from ``folder``, or the stick of shop.toml wherever it is mounted.

    Raises BadCall (``no-stick``, ``which-stick``), CouldNot (``medium-gone``). ``tell`` and ``forget`` as `open_medium` has them.
    """
    from tracker.services.progress import quiet
    from tracker.stick.medium import open_medium
    from tracker.stick.mounted import folder_of

    there = Path(folder) / (name if isinstance(name, str) else folder_of(name))
    return open_medium(there, quiet if tell is None else tell, forget=forget)
