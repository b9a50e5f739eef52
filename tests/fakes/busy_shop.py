"""A shop in which every verb has something to do: one call of each verb that ends well there.

Jobs, each with one operation op10 and one main program:

====  ====================================================================================
4471  r1 proved and released as number 1, exported to the stick
4472  r1 proved, r2 with another wording and a coolant change: waits for a desk review
4473  a proof whose first piece is still to be measured
4474  proved by its writer: waits for a countersign
4475  proved and held: waits for a lift
4476  its newest text lies in the working folder only: waits for a check-in
4477  never proved
4478  r1 proved, not released yet
4479  proved; released in another clone, whose tag came here as an object: the gate can be asked about it
====  ====================================================================================
"""

import contextlib
import io
import shutil
import time
from collections.abc import Callable
from pathlib import Path

from tests.fakes.shop_folder import MAIN, ShopFolder, git
from tracker.cli.entry import main

NOW = "2026-02-10T09:00:00Z"
ZERO = "0" * 40
PATIENCE = 60  # seconds for another process to make the shop
TAG = "refs/tags/release/4479/1"
JOBS = ("4471", "4472", "4473", "4474", "4475", "4476", "4477", "4478", "4479")
SHOP = """format = 1
[shop]
name = "Test shop"
timezone = "Europe/London"
[[people]]
initials = "np"
name = "Nora Pencil"
email = "np@shop.example"
roles = ["programmer"]
[[people]]
initials = "ws"
name = "Wim Square"
email = "ws@shop.example"
roles = ["programmer", "setup"]
[[people]]
initials = "ss"
name = "Sol Shim"
email = "ss@shop.example"
roles = ["setup"]
[[people]]
initials = "dg"
name = "Dell Gauge"
email = "dg@shop.example"
roles = ["quality"]
[[people]]
initials = "vv"
name = "Vic Visitor"
email = "vv@shop.example"
roles = []
[[machines]]
id = "MILL2"
type = "mill"
units = "inch"
file_name = "O{number:04}.NC"
"""
JOB = """format = 1
[job]
number = "{job}"
drawing_revision = "C"
[[operations]]
id = "op10"
program = "op10/O{number}.nc"
machines = ["MILL2"]
units = "inch"
[[operations.tools]]
number = 4
stick_out = 2.5
"""


def job_path(job: str) -> str:
    return f"jobs/{job}/job.toml"


def program_path(job: str) -> str:
    return f"jobs/{job}/op10/O{job}.nc"


def program_text(job: str) -> str:
    return MAIN.replace("O1001", f"O{job}").replace("N90 M98 P1002\n", "").replace("(PLATE)", f"(PART {job})")


def fill(shop: ShopFolder) -> None:
    """Bring a new shop to where the docstring above says."""
    shop.at("2026-02-02T09:00:00Z")
    shop.put("shop.toml", SHOP)
    shop.run("init", ".", "--name", "Test shop")
    for job in JOBS:
        shop.put(job_path(job), JOB.format(job=job, number=job))
        shop.put(program_path(job), program_text(job))
        shop.run("checkin", job, "-m", "first issue", "--by", "ws" if job == "4474" else "np")
    shop.at("2026-02-03T09:00:00Z")
    for job in ("4471", "4472", "4473", "4474", "4475", "4478", "4479"):
        piece = "waiting" if job == "4473" else "report 2231"
        shop.run(*prove(shop, job, "ws" if job == "4474" else "ss", piece))
    shop.at("2026-02-04T09:00:00Z")
    shop.put(program_path("4472"), program_text("4472").replace("M8", "M7").replace("(PART", "(PLATE"))
    shop.run("checkin", "4472", "-m", "mist", "--by", "np")
    shop.run("release", "4471", "--by", "dg", "--yes")
    stick_of(shop).mkdir()
    shop.run("export", "4471", "--machine", "MILL2", "--to", str(stick_of(shop)), "--by", "ss", "--yes")
    shop.run("hold", "4475", "--by", "ss", "-m", "chatter")
    shop.run("ran", "4471/op10@r1", "--machine", "MILL2", "--by", "ss", "--lot", "L1")
    git(shop.folder.parent, "init", "-q", "--bare", "server.git")
    shop.put("../tag", tag_from_elsewhere(shop))
    shop.put(program_path("4476"), program_text("4476").replace("Z-1.16", "Z-1.2"))
    shop.put("loose/unknown.nc", "%\nO0077\nG1 X1.\nM30\n%\n")
    shop.put("loose/empty.nc", b"")
    shop.put("loose/binary.nc", bytes(range(256)) * 8)
    shop.at(NOW)


def tag_from_elsewhere(shop: ShopFolder) -> str:
    """The id of a release tag made in a second clone: its objects are here, no reference to them is."""
    second = shop.folder.with_name("elsewhere")
    shutil.copytree(shop.folder, second, symlinks=True)
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["-C", str(second), "release", "4479", "--by", "dg", "--yes"]) == 0
    git(shop.folder, "fetch", "-q", "--no-tags", str(second), TAG)
    (shop.folder / ".git/FETCH_HEAD").unlink()
    tag = git(second, "rev-parse", TAG)
    shutil.rmtree(second)
    return tag


def prove(shop: ShopFolder, job: str, by: str = "ss", piece: str = "report 2231") -> list[str]:
    return [
        *("prove", f"{job}/op10@r1", "--machine", "MILL2", "--by", by, "--accept"),
        *("--first-piece", piece, "--answers", shop.answers(), "--yes"),
    ]


def stick_of(shop: ShopFolder) -> Path:
    """The stick lies beside the shop."""
    return shop.folder.parent / "BLUE-1"


def ran_record(shop: ShopFolder) -> str:
    (path,) = (shop.folder / "jobs/4471/records/op10").glob("*-ran-*.toml")
    return path.name


class ByteShop(ShopFolder):
    """A shop folder whose calls may print any bytes (``normalize`` of a binary); takes ``capsysbinary``."""

    def call(self, *words: str) -> tuple[int, str, str]:
        got = main(["-C", str(self.folder), *words])
        out, err = self._capsys.readouterr()
        assert b"Traceback" not in out + err
        return got, out.decode("utf-8", "backslashreplace"), err.decode("utf-8", "backslashreplace")


class BusyShop:
    """The shop made once, for all files and processes of a run of the tests; copies of it are cheap."""

    of_the_run: Path | None = None
    """A folder all processes of the run know; None: each file makes a shop of its own."""

    def __init__(self, kept: Path) -> None:
        self._kept = kept

    def copy(self, to: Path, make: Callable[[Path], ShopFolder]) -> ShopFolder:
        """The shop in ``to/shop``, its stick in ``to/BLUE-1``."""
        if not self._kept.exists():
            made = self._made(make)
            if made is None:
                self._fill(self._kept, make)
            else:
                shutil.copytree(made, self._kept, symlinks=True)
        shutil.copytree(self._kept, to, dirs_exist_ok=True, symlinks=True)
        shop = make(to / "shop")
        shop.at(NOW)
        return shop

    def _made(self, make: Callable[[Path], ShopFolder]) -> Path | None:
        """The run's shop: the process that comes first makes it, the others wait. None where it did not come to be."""
        if self.of_the_run is None:
            return None
        made, half = self.of_the_run / "busy shop", self.of_the_run / "busy shop in the making"
        try:
            half.mkdir()
        except FileExistsError:
            end = time.monotonic() + PATIENCE
            while half.exists() and not made.exists() and time.monotonic() < end:
                time.sleep(0.1)
            return made if made.exists() else None
        try:
            self._fill(half / "it", make)
            return (half / "it").rename(made)
        except BaseException:
            shutil.rmtree(half)
            raise

    def _fill(self, folder: Path, make: Callable[[Path], ShopFolder]) -> None:
        folder.mkdir(parents=True)
        fill(make(folder / "shop"))
        shutil.rmtree(folder / "shop/.git/hooks", ignore_errors=True)
        git(folder / "shop", "repack", "-a", "-d", "-k", "-q")  # a few files to copy, not hundreds


def good_calls(shop: ShopFolder) -> dict[str, list[str]]:
    """One call of every verb that does something in the busy shop and ends with 0."""
    stick = str(stick_of(shop))
    by = ["--by", "ss"]
    return {
        "adopt": ["adopt", "loose"],
        "new": ["new", "4490", program_path("4477"), "--machine", "MILL2"],
        "checkin": ["checkin", "4476", "-m", "deeper", "--by", "np"],
        "compare": ["compare", "4472/op10@r1", "4472/op10@r2"],
        "summary": ["summary", "4472/op10@r2", "--machine", "MILL2"],
        "verify": ["verify", "4471/op10", "--machine", "MILL2"],
        "show": ["show", "4471/op10@r1"],
        "status": ["status"],
        "sheet": ["sheet", "4471/op10@r1", "--machine", "MILL2"],
        "export": ["export", "4471", "--machine", "MILL2", "--to", stick, *by, "--yes"],
        "prove": prove(shop, "4477"),
        "measured": ["measured", "4473", "--machine", "MILL2", "--report", "77", "--accept", *by],
        "ran": ["ran", "4471/op10@r1", "--machine", "MILL2", *by, "--lot", "L2"],
        "collect": ["collect", stick, *by],
        "identify": ["identify", f"{stick}/MILL2/O4471.NC", "--machine", "MILL2"],
        "review": ["review", "4472/op10@r2", "--by", "ws", "-m", "mist only", "--yes"],
        "countersign": ["countersign", "4474/op10@r1", "--machine", "MILL2", *by, "-m", "watched", "--yes"],
        "hold": ["hold", "4471/op10", *by, "-m", "gauge out"],
        "lift": ["lift", "4475", "--by", "dg", "-m", "insert changed"],
        "release": ["release", "4478", "--by", "dg", "--yes"],
        "withdraw": ["withdraw", "4471@1", "--by", "dg", "-m", "grip too low", "--yes"],
        "strike": ["strike", ran_record(shop), *by, "-m", "wrong lot"],
        "where": ["where", "4471/op10@r1"],
        "history": ["history", "4471"],
        "report": ["report", "4472", "-o", "report.html"],
        "audit": ["audit"],
        "init": ["init", str(shop.folder.parent / "second"), "--name", "Second shop"],
        "install": ["install"],
        "doctor": ["doctor"],
        "demo": ["demo", str(shop.folder.parent / "demo"), "--no-tour"],
        "share": ["share", "--remote", str(shop.folder.parent / "server.git")],
        "backup": ["backup", "--to", stick],
        "witness": ["witness", str(shop.folder.parent / "second copy"), "--from", "."],
        "explain": ["explain", "unknown-job"],
        "normalize": ["normalize", program_path("4471")],
        "fingerprint": ["fingerprint", program_path("4471")],
        "gate": ["gate", TAG, ZERO, (shop.folder.parent / "tag").read_text(encoding="ascii")],
    }
