"""How old the last share is, as JSON; as text it is one line (`tracker.services.last_share.LastShare.words`)."""

from tracker.clock import utc_text

TYPE_CHECKING = False  # as in typing
if TYPE_CHECKING:
    from tracker.services.last_share import LastShare


def share_json(share: "LastShare | None") -> dict[str, object]:
    """``last_share`` with the moment (null: never) and the words; nothing where nothing can tell."""
    if share is None:
        return {}
    return {"last_share": {"at": utc_text(share.at) if share.at else None, "says": share.words}}
