"""How long ``adopt`` looks through 10,000 old programs, beside reading and hashing the same bytes with sha256sum.

python tests/benchmarks/adopt.py [FILES]
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.fakes.shop_folder import MAIN


def main() -> None:
    """Make the folder, run both, print seconds and their ratio."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    with tempfile.TemporaryDirectory() as name:
        top = Path(name)
        for number in range(1, count + 1):
            folder = top / "old" / f"J{number // 5:05}"
            folder.mkdir(parents=True, exist_ok=True)
            text = MAIN.replace("O1001", f"O{number:05}").replace("F15.", f"F{number % 97 + 1}.") * 3
            (folder / f"O{number:05}.NC").write_text(text.replace("M30\n%\n%\n", ""), encoding="ascii")
        subprocess.run(["git", "init", "-q", "-b", "main", name], check=True)
        words = [sys.executable, "-m", "tracker", "-C", name]
        subprocess.run([*words, "init", ".", "--name", "X"], check=True, stdout=subprocess.DEVNULL)
        begun = time.perf_counter()
        subprocess.run([*words, "adopt", "old", "--plan", "plan.csv"], check=True, stdout=subprocess.DEVNULL)
        took = time.perf_counter() - begun
        begun = time.perf_counter()
        subprocess.run(
            f"find '{name}/old' -type f -print0 | xargs -0 sha256sum >/dev/null", shell=True, check=True
        )
        beside = time.perf_counter() - begun
        print(
            f"adopt looks through {count} files in {took:.1f} s, sha256sum in {beside:.1f} s: {took / beside:.1f} times"
        )


if __name__ == "__main__":
    main()
