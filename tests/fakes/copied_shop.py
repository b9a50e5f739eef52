"""A small shop on real git with one text checked in, a tag and a second branch: what backup and witness copy."""

from pathlib import Path

from tests.store.shop_repo import SHOP, git, make_shop, write
from tracker.cli.entry import main


def copied_shop(tmp_path: Path) -> Path:
    folder = make_shop(tmp_path / "Prüf stand" / "shop", attributes="* -text\n*.nc -merge diff=nc\n")
    write(folder, "shop.toml", SHOP.replace('["setup"]', '["setup", "programmer"]'))
    git(folder, "commit", "-qam", "roles")
    assert main(["-C", str(folder), "checkin", "4471", "-m", "why", "--by", "kp", "--yes"]) == 0
    git(folder, "tag", "-a", "v1", "-m", "one")
    git(folder, "branch", "side")
    return folder
