"""Take a whole shop out of its record, without proveout: plain git, SHA-256 and Python's standard library.

Usage: python take_out.py FOLDER OUT. Below the new folder OUT it writes every revision's programs as files
(`4471/op10/r0003-7f3a09c2/O1001.nc`), and `events.csv`: one row a record, with who, when, what and why. Every program is
held against the SHA-256 in its record. Exit 1 when one cannot be read back; the rest is written all the same.
"""

import csv
import hashlib
import subprocess
import sys
import tomllib
from pathlib import Path

COLUMNS = ("at", "event", "job", "operation", "revision", "machine", "result", "by", "reason", "record")


def git(folder, *words):
    return subprocess.run(["git", "-C", folder, *words], capture_output=True, check=True).stdout


def names(folder, *words):
    return [name.decode("utf-8", "surrogateescape") for name in git(folder, *words).split(b"\0") if name]


def records(folder):
    """Path and content of every record of every branch and tag, each once."""
    seen = {}
    for ref in git(folder, "for-each-ref", "--format=%(refname)").decode("utf-8").split():
        for path in names(folder, "ls-tree", "-r", "-z", "--name-only", f"{ref}^{{commit}}"):
            if "records/" in path and path.endswith(".toml") and path not in seen:
                seen[path] = git(folder, "cat-file", "blob", f"{ref}^{{commit}}:{path}")
    return {path: tomllib.loads(data.decode("utf-8")) for path, data in sorted(seen.items())}


def commit_of(folder, path, record):
    """The commit that holds a revision's text: the one that brought its record in, or for a text of before, its own."""
    if "before" in record:
        return record["before"]["commit"]
    return (
        git(folder, "log", "--all", "--diff-filter=A", "--format=%H", "--", path).decode("ascii").split()[-1]
    )


def take_out(folder, out):
    """Write everything; yields what cannot be read back."""
    found = records(folder)
    out.mkdir(parents=True)
    for path, record in found.items():
        if record["event"] != "revision":
            continue
        commit = commit_of(folder, path, record)
        place = out / record["job"] / record["operation"] / Path(path).stem
        for file in record["files"]:
            try:
                data = git(folder, "cat-file", "blob", f"{commit}:{file['path']}")
            except subprocess.CalledProcessError:
                data = b""
            if hashlib.sha256(data).hexdigest() != file["raw_sha256"]:
                yield f"{path}: {file['path']} is not there as it was recorded"
                continue
            place.mkdir(parents=True, exist_ok=True)
            (place / file["name"]).write_bytes(data)
    with (out / "events.csv").open("w", encoding="utf-8-sig", newline="") as table:
        rows = csv.DictWriter(table, COLUMNS, restval="", extrasaction="ignore")
        rows.writeheader()
        for path, record in sorted(found.items(), key=lambda one: (one[1]["at"], one[0])):
            rows.writerow({**record, "record": path})


def main(folder, out):
    lost = list(take_out(folder, Path(out)))
    for line in lost:
        print(line)
    count = sum(1 for file in Path(out).rglob("*") if file.is_file()) - 1
    print(f"{count} programs written, {len(lost)} lost")
    return 1 if lost else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:3]))
