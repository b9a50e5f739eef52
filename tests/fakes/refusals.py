"""How a call that is refused must look: one clear error, the right exit status, nothing written."""

import json
import os
import re
from pathlib import Path

from tests.fakes.busy_shop import ByteShop
from tracker.reports.explain import page

STATUS = {
    "bad-csv": 2,
    **dict.fromkeys(("detached-head", "gate-closed", "inside-repository", "no-code", "not-whole"), 1),
    **dict.fromkeys(("not-released", "uncommitted-edits", "wrong-role"), 1),
    **dict.fromkeys(("broken-toml", "is-a-file", "is-a-folder", "missing-file", "no-stick", "not-empty"), 2),
    **dict.fromkeys(
        ("unknown-job", "unknown-machine", "unknown-page", "unknown-person", "unknown-record"), 2
    ),
    **dict.fromkeys(("unknown-release", "unknown-revision", "wrong-job-file", "wrong-shop-file"), 2),
    **dict.fromkeys(("no-such-folder", "not-bare", "not-utf8", "nothing-of-ours", "file-exists"), 2),
    **dict.fromkeys(("no-git", "no-permission", "no-repository", "no-shop", "shallow", "unreachable"), 4),
}
PLACED = {
    "broken-toml",
    "wrong-shop-file",
    "wrong-job-file",
    "missing-file",
    "is-a-folder",
    "is-a-file",
    "no-stick",
}
PLACED |= {"uncommitted-edits", "no-permission", "shallow", "no-repository"}
NOTES = {"audit-derived", "audit-found", "audit-commits", "packs-verified", "index.db"}


def contents(shop: ByteShop) -> dict[str, bytes | None]:
    """Everything in the shop's folder and beside it: files with their bytes (git's own too), folders.

    What an audit notes for the next one, and the index, are left out: they may be deleted at any time.
    """
    found: dict[str, bytes | None] = {}
    for at, folders, names in os.walk(shop.folder.parent):
        found.update((f"{at}/{name}", None) for name in folders)
        found.update((f"{at}/{name}", Path(at, name).read_bytes()) for name in names if name not in NOTES)
    return {name: data for name, data in found.items() if not name.endswith("/.git/proveout")}


def refused(shop: ByteShop, words: list[str], name: str) -> None:
    """The call ends with this error, said in words and as JSON."""
    got, out, err = shop.call(*words)
    assert (got, out) == (STATUS[name], ""), err
    lines = err.splitlines()
    assert re.fullmatch(rf".{{5,}}  \[{name}\]", lines[0]), err
    assert sum(bool(re.search(r"  \[[a-z-]+\]$", line)) for line in lines) == 1, err
    assert lines[-1].startswith("  fix: "), err
    assert len(lines[-1]) > 15
    assert any(line.startswith("  --> ") for line in lines) or name not in PLACED, err
    assert page(name).put_right
    if "--json" not in words and words[0] != "normalize":
        as_json(shop, words, name)


def as_json(shop: ByteShop, words: list[str], name: str) -> None:
    got, out, err = shop.call(*words, "--json")
    assert (got, err) == (STATUS[name], "")
    said = json.loads(out)
    assert [key for key in said if key not in ("files", "errors")] == ["schema", "error"]
    assert said["schema"] == f"proveout/{words[0]}/1"
    assert list(said["error"])[:4] == ["name", "message", "where", "fix"]
    assert said["error"]["name"] == name
    assert said["error"]["message"]
    assert said["error"]["fix"]
