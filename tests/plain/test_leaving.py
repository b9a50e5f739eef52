"""A shop that drops the tool keeps all of it: README's way out is run as it stands there, with git and text tools alone."""

import csv
import hashlib
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

SCRIPT = Path(__file__).with_name("take_out.py")
BLOCK = re.compile(r"```sh leaving\n(.*?)```", re.DOTALL)
TOOLS = ("git", "cat", "ls", "grep", "sha256sum")


def take_out(shop: Path, out: Path) -> tuple[int, str]:
    # -I: nothing of this project can be imported by the script
    done = subprocess.run(
        [sys.executable, "-I", str(SCRIPT), str(shop), str(out)], capture_output=True, text=True, check=False
    )
    return done.returncode, done.stdout + done.stderr


def revisions(shop: Path) -> dict[Path, dict]:
    """Every revision record of the working folder, by its path."""
    found = {p: tomllib.loads(p.read_text(encoding="utf-8")) for p in shop.glob("jobs/*/records/*/r*.toml")}
    return {path: record for path, record in found.items() if record["event"] == "revision"}


@pytest.mark.skipif(os.name == "nt", reason="the lines are of a POSIX shell")
def test_the_lines_of_the_readme_with_git_and_text_tools(
    project: Path, threepenny: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (text,) = BLOCK.findall((project / "README.md").read_text(encoding="utf-8"))
    bin_ = tmp_path / "bin"
    bin_.mkdir()
    for tool in TOOLS:
        (bin_ / tool).symlink_to(shutil.which(tool) or pytest.skip(f"no {tool} here"))
    monkeypatch.setenv("PATH", str(bin_))
    done = subprocess.run(
        ["/bin/sh", "-e", "-u", "-c", text], cwd=threepenny, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (0, "")
    (path,) = threepenny.glob("jobs/4471/records/op10/r0003-????????.toml")
    record = tomllib.loads(path.read_text(encoding="utf-8"))
    (file,) = [file for file in record["files"] if file["name"] == "O1001.nc"]
    data = (threepenny / "O1001-r3.nc").read_bytes()
    assert hashlib.sha256(data).hexdigest() == file["raw_sha256"]
    assert f"{file['raw_sha256']}  O1001-r3.nc" in done.stdout
    assert data == (project / "sample_repo/texts/O1001-r3.nc").read_bytes()
    assert "release/4471/1" in done.stdout
    assert "-proof-" in done.stdout
    assert (threepenny / "O1001-release-1.nc").stat().st_size > 0


def test_every_revision_s_programs_come_out_to_the_byte(threepenny: Path, tmp_path: Path) -> None:
    status, said = take_out(threepenny, tmp_path / "out")
    assert status == 0, said
    found = revisions(threepenny)
    assert len(found) >= 8
    wanted = {
        f"{record['job']}/{record['operation']}/{path.stem}/{file['name']}": file["raw_sha256"]
        for path, record in found.items()
        for file in record["files"]
    }
    written = {
        file.relative_to(tmp_path / "out").as_posix(): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in (tmp_path / "out").rglob("*")
        if file.is_file() and file.name != "events.csv"
    }
    assert written == wanted
    assert said.splitlines()[-1] == f"{len(wanted)} programs written, 0 lost"


def test_everything_that_was_recorded_stands_in_one_table(threepenny: Path, tmp_path: Path) -> None:
    take_out(threepenny, tmp_path / "out")
    with (tmp_path / "out/events.csv").open(encoding="utf-8-sig", newline="") as table:
        rows = list(csv.DictReader(table))
    records = [p for p in threepenny.rglob("records/**/*.toml") if ".git" not in p.parts]
    there = {p.relative_to(threepenny).as_posix() for p in records}
    assert there <= {row["record"] for row in rows}
    assert {"revision", "proof", "release", "export"} <= {row["event"] for row in rows}
    assert all(row["at"] and row["by"] for row in rows)


def test_a_text_that_is_gone_is_named_and_the_rest_comes_out(threepenny: Path, tmp_path: Path) -> None:
    path = next(iter(sorted(revisions(threepenny))))
    text = path.read_text(encoding="utf-8")
    path.write_text(
        re.sub(r'raw_sha256 = "[0-9a-f]{8}', 'raw_sha256 = "00000000', text, count=1), encoding="utf-8"
    )
    git = ("git", "-c", "core.hooksPath=/dev/null", "-c", "user.name=x", "-c", "user.email=x@y")
    subprocess.run([*git, "commit", "-qam", "forged"], cwd=threepenny, check=True)
    status, said = take_out(threepenny, tmp_path / "out")
    assert status == 1
    assert f"{path.relative_to(threepenny).as_posix()}: " in said
    assert said.splitlines()[-1].endswith("programs written, 1 lost")


def test_the_scripts_know_nothing_of_this_project() -> None:
    for script in SCRIPT.parent.glob("[rt]*.py"):
        if not script.name.startswith("test_"):
            assert not re.search(
                r"(?m)^\s*(import|from)\s+(tracker|tests)\b", script.read_text(encoding="utf-8")
            )
