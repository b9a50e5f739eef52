"""What the records have on a stick somebody names himself, from before it was emptied, and is not there.

No list on the stick leads to it, so it might lie on another stick by that name: only where a person says which stick this
is does it count as missing.
"""

from collections.abc import Iterable, Iterator, Sequence

from tracker.policy.find import label
from tracker.records.stored import Ledger
from tracker.services.collect_report import MISSING, FileVerdict
from tracker.services.known import KnownTexts
from tracker.services.on_sticks import of_this_name
from tracker.services.stick_view import Contents, Home, alone, written


def emptied(
    stick: str,
    ledger: Ledger,
    known: KnownTexts,
    contents: Contents,
    places: Sequence[Home],
    judged: Iterable[FileVerdict],
) -> Iterator[FileVerdict]:
    """A verdict for each; ``judged``: the other files, so that a moved one, or one told already, is not missing."""
    if alone(places) is not None:
        return
    folded = contents.shaper.folded
    seen = {folded(written(one.path)) for one in contents.seen}
    told = {one.sha256 for one in judged} | {one.file.casefold() for one in judged}
    lists = [contents.digest_if_readable(one.path) for one in contents.seen if contents.is_manifest(one)]
    _, others = of_this_name(ledger, stick, [one for one in lists if one in known.manifests])
    folders = tuple(folded(home.path) + "/" for home in places)
    for copy in {folded(one.path): one for one in others if one.manifest}.values():
        here = folded(copy.path)
        looked_at = not places or here.startswith(folders)
        if not looked_at or here in seen or not told.isdisjoint((copy.file.sha256, copy.path.casefold())):
            continue
        yield FileVerdict(
            file=copy.path,
            verdict=MISSING,
            job=copy.file.job,
            operation=copy.file.operation,
            revision=label(copy.file.revision) if copy.file.revision else None,
            sha256=copy.file.sha256,
            release=copy.file.release,
            message=f"was exported to a stick called {stick} and is not there any more",
        )
