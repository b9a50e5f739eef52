"""Writes what the interpreter answers to every program into ``recorded/``: ``python -m tests.oracle.record``."""

import sys

from tests.oracle.interpreter import PROGRAMS, RECORDED, answer, find, skips


def main() -> int:
    path = find()
    if path is None:
        print("the interpreter is not here: run tests/oracle/fetch first", file=sys.stderr)
        return 3
    for old in RECORDED.glob("*.txt"):
        old.unlink()
    for program in sorted(PROGRAMS.glob("*.ngc")):
        text = program.read_text()
        (RECORDED / f"{program.stem}.txt").write_text(answer(text, path, skip=skips(program.stem)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
