"""Every release of the sample shop comes out again with plain git, SHA-256 and the standard library."""

import subprocess
import sys
from pathlib import Path

SCRIPT = Path(__file__).with_name("rederive.py")
RECORD = "jobs/4502/records/op10"


def rederive(shop: Path) -> tuple[int, str]:
    # -I: nothing of this project can be imported by the script
    done = subprocess.run(
        [sys.executable, "-I", str(SCRIPT), str(shop)], capture_output=True, text=True, check=False
    )
    return done.returncode, done.stdout + done.stderr


def git(shop: Path, *words: str) -> str:
    return subprocess.run(["git", *words], cwd=shop, capture_output=True, text=True, check=True).stdout


def forge(shop: Path, path: str, old: bytes, new: bytes) -> None:
    """The tag of release 4502/1, on a commit in which one file says something else."""
    git(shop, "checkout", "-q", "--detach", "release/4502/1")
    file = shop / path
    data = file.read_bytes()
    assert old in data
    file.write_bytes(data.replace(old, new))
    git(shop, "-c", "core.hooksPath=/dev/null", "commit", "-qam", "forged")
    message = git(shop, "tag", "-l", "--format=%(contents)", "release/4502/1")
    git(shop, "-c", "core.hooksPath=/dev/null", "tag", "-f", "-a", "-m", message, "release/4502/1")


def test_the_sample_shop_s_releases_hold(threepenny: Path) -> None:
    status, said = rederive(threepenny)
    assert (status, said.splitlines()[-1]) == (0, "3 releases, 0 that do not hold"), said


def test_a_changed_program_does_not(threepenny: Path) -> None:
    forge(threepenny, "jobs/4502/op10/O1201.nc", b"S7000", b"S7900")
    status, said = rederive(threepenny)
    assert status == 1
    assert "other bytes than the revision's; jobs/4502/op10/O1201.nc: another fingerprint" in said


def test_a_changed_proof_does_not(threepenny: Path) -> None:
    proof = next((threepenny / RECORD).glob("*-proof-*.toml")).relative_to(threepenny).as_posix()
    forge(threepenny, proof, b"report 2275", b"report 2276")
    status, said = rederive(threepenny)
    assert status == 1
    assert f"{proof}: other bytes than the release relied on" in said
