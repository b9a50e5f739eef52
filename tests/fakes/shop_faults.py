"""What can be wrong with a shop's folder or with a call, done to the busy shop one at a time."""

import io
import os
import shutil
from pathlib import Path

import pytest

from tests.fakes.busy_shop import JOBS, good_calls, job_path, program_path, prove, stick_of
from tests.fakes.shop_folder import ShopFolder

BINARY, EMPTY, UNKNOWN = "loose/binary.nc", "loose/empty.nc", "loose/unknown.nc"


# -- the folder -------------------------------------------------------------------------------------------------------


def no_repository(shop: ShopFolder) -> None:
    shutil.rmtree(shop.folder / ".git")


def shallow(shop: ShopFolder) -> None:
    """What a clone with ``--depth 1`` is: git does not look behind the commits this file names."""
    shop.put(".git/shallow", shop.git("rev-parse", "HEAD") + "\n")


def no_shop(shop: ShopFolder) -> None:
    shop.git("rm", "-q", "shop.toml")
    shop.git("commit", "-q", "-m", "shop.toml taken away")


def broken_shop(shop: ShopFolder) -> None:
    append(shop, "shop.toml", b"[[[\n")
    shop.git("commit", "-q", "-m", "broken", "--", "shop.toml")


def odd_shop(shop: ShopFolder) -> None:
    text = (shop.folder / "shop.toml").read_bytes()
    shop.put("shop.toml", text.replace(b"[shop]\n", b"[shop]\ntimezon = 'UTC'\n"))
    shop.git("commit", "-q", "-m", "odd", "--", "shop.toml")


def broken_jobs(shop: ShopFolder) -> None:
    for job in JOBS:
        append(shop, job_path(job), b"[[[\n")
    shop.git("commit", "-q", "-m", "broken", "--", "jobs/*/job.toml")


def odd_jobs(shop: ShopFolder) -> None:
    for job in JOBS:
        text = (shop.folder / job_path(job)).read_bytes()
        shop.put(job_path(job), text.replace(b"[job]\n", b"[job]\nmateriel = 'AL'\n"))
    shop.git("commit", "-q", "-m", "odd", "--", "jobs/*/job.toml")


def detached(shop: ShopFolder) -> None:
    shop.git("checkout", "-q", "--detach")


def tags_on_files(shop: ShopFolder) -> None:
    """A tag of every job's next release that points at a program instead of a commit; the gate is asked for one."""
    for job in JOBS[:-1]:
        number = 2 if job == "4471" else 1
        shop.git("tag", f"release/{job}/{number}", shop.git("rev-parse", f"HEAD:{program_path(job)}"))
    shop.put("../tag", shop.git("rev-parse", f"HEAD:{program_path(JOBS[-1])}"))


def edited(shop: ShopFolder) -> None:
    edit_all(shop, programs=JOBS)


def empty_programs(shop: ShopFolder) -> None:
    for job in JOBS:
        shop.put(program_path(job), b"")


def binary_programs(shop: ShopFolder) -> None:
    for job in JOBS:
        shop.put(program_path(job), bytes(range(256)) * 8)


def no_git(shop: ShopFolder) -> None:
    """The folder is whole: the call is made with a PATH that leads nowhere."""


def denied_programs(shop: ShopFolder) -> None:
    """The folder is whole: the programs cannot be read while the call is made."""


def denied_head(shop: ShopFolder) -> None:
    """The folder is whole: git's HEAD cannot be read while the call is made."""


def edit_all(shop: ShopFolder, programs: tuple[str, ...] | list[str]) -> None:
    for job in programs:
        append(shop, program_path(job), b"(EDITED)\nM0\n")


def append(shop: ShopFolder, path: str, data: bytes) -> None:
    shop.put(path, (shop.folder / path).read_bytes() + data)


# -- the call ---------------------------------------------------------------------------------------------------------


def swapped(words: list[str], old: str, new: str) -> list[str]:
    return [word.replace(old, new) for word in words]


def with_job(shop: ShopFolder, verb: str, job: str) -> list[str] | None:
    """The good call about another job; None where it names none."""
    words = good_calls(shop)[verb]
    if verb in ("collect", "identify", "normalize", "fingerprint", "strike", "gate"):
        return None
    changed = [job + word[4:] if word[:4] in JOBS else word for word in words]
    if verb == "status":
        changed = ["status", "--job", job]
    return changed if changed != words else None


def with_revision(shop: ShopFolder, verb: str) -> list[str] | None:
    words = good_calls(shop)[verb]
    if verb == "export":
        return ["export", "--for-proving", "4477/op10@r9", *words[2:]]
    if verb == "lift":
        return ["lift", "4475/op10@r9", *words[2:]]
    if verb == "hold":
        return ["hold", "4471/op10@r9", *words[2:]]
    if verb == "measured":
        return ["measured", "4473/op10@r9", *words[2:]]
    changed = [swap_revision(word) for word in words]
    return changed if changed != words else None


def swap_revision(word: str) -> str:
    if word == "4471@1":
        return "4471@9"
    for revision in ("@r1", "@r2"):
        word = word.removesuffix(revision) + "@r9" if word.endswith(revision) else word
    return word


def with_option(shop: ShopFolder, verb: str, option: str, value: str) -> list[str] | None:
    """The good call with another value of an option; None where the verb has no such option."""
    words = good_calls(shop)[verb]
    if verb in ("hold", "lift") and option == "--machine":
        more = ["--because", "crash"] if verb == "hold" else ["--check", "TEXT"]
        return [verb, option, value, *words[2:], *more]
    if verb == "history":
        option = "--person" if option == "--by" else option
        return [*words, option, value]
    if verb == "status" and option == "--machine":
        return [*words, option, value]
    if option not in words:
        return None
    at = words.index(option) + 1
    return [*words[:at], value, *words[at + 1 :]]


def with_file(shop: ShopFolder, verb: str, path: str) -> list[str] | None:
    """The good call about another file; None where it names none."""
    words = good_calls(shop)[verb]
    stick = stick_of(shop)
    named = {
        "compare": ["compare", program_path("4471"), path],
        "identify": ["identify", path, "--machine", "MILL2"],
        "summary": ["summary", path],
        "adopt": ["adopt", "--apply", path, "--by", "np", "-m", "taken over"],
        "new": ["new", "4490", path, "--machine", "MILL2"],
        "verify": ["verify", path],
        "normalize": ["normalize", path],
        "fingerprint": ["fingerprint", path],
        "show": ["show", path],
        "sheet": [*words, "--html", path],
        "report": ["report", "4472", "-o", path],
        "ran": ["ran", path, *words[2:]],
        "prove": [*prove(shop, "4477"), "--ran", path],
        "install": ["install", "--server", path],
        "doctor": ["doctor", "--server", path],
        "export": [path if word == str(stick) else word for word in words],
        "collect": ["collect", path, "--by", "ss"],
        "strike": ["strike", path, *words[2:]],
        "checkin": ["checkin", path, *words[2:]],
        "explain": ["explain", path],
        "demo": ["demo", path, "--no-tour"],
        "init": ["init", path, "--name", "X"],
    }
    return named.get(verb)


def deny(monkeypatch: pytest.MonkeyPatch, *unreadable: Path) -> None:
    """Make files or folders unreadable for this process, whoever runs it (root reads past permissions)."""
    real_open, real_os_open, real_scan, real_list = io.open, os.open, os.scandir, os.listdir
    wanted = {str(path) for path in unreadable}

    def check(path: object) -> None:
        if isinstance(path, (str, os.PathLike)) and str(Path(path).absolute()) in wanted:
            raise PermissionError(13, "Permission denied", str(path))

    def open_file(file, *rest, **more):
        check(file)
        return real_open(file, *rest, **more)

    def open_low(path, *rest, **more):
        check(path)
        return real_os_open(path, *rest, **more)

    def scan(path="."):
        check(path)
        return real_scan(path)

    def list_folder(path="."):
        check(path)
        return real_list(path)

    monkeypatch.setattr(io, "open", open_file)
    monkeypatch.setattr("builtins.open", open_file)
    monkeypatch.setattr(os, "open", open_low)
    monkeypatch.setattr(os, "scandir", scan)
    monkeypatch.setattr(os, "listdir", list_folder)
