"""Derive every release of a shop again, without proveout: plain git, SHA-256 and Python's standard library.

Usage: python rederive.py FOLDER. One line a release; exit 1 when the evidence of one does not hold. It checks what a
release says of itself: the tag names a record and its hash, the record names revisions, proofs and reviews and their
hashes, the revisions name programs and theirs, and an accepted proof stands behind every operation. Whether a proof
may be carried over is a rule of the shop's policy and is not judged here.
"""

import hashlib
import re
import subprocess
import sys
import tomllib


def git(folder, *words):
    return subprocess.run(["git", "-C", folder, *words], capture_output=True, check=True).stdout


def file_at(folder, commit, path):
    try:
        return git(folder, "cat-file", "blob", f"{commit}:{path}")
    except subprocess.CalledProcessError:
        return b""


def sha256(data):
    return hashlib.sha256(data).hexdigest()


def operation_fingerprint(record):
    """SHA-256 over the lines that stand for the operation."""
    lines = [f"proveout operation {record['rule_version']}" + (" strict" if record["strict"] else "")]
    lines += [f"{f.get('number', '-')} {f['name'].upper()} {f['fingerprint']}" for f in record["files"]]
    return sha256("".join(f"{line}\n" for line in [*lines, f"sheet {record['sheet_fingerprint']}"]).encode())


def simple_fingerprint(data):
    """Fingerprint of a text without jumps whose numbers are written the shortest way, as the sample's are; else None."""
    text = re.sub(r"\([^)]*\)", "", data.decode("latin-1").replace("\r", ""))
    lines = [re.sub(r"\s", "", re.sub(r"^\s*N\d+", "", line)) for line in text.split("\n")]
    code = [line for line in lines if line not in ("", "%")]
    if any(re.search(r"[#\[;/\"]|GOTO|P\d+Q\d+|M97|M99P|[GMNXYZ]0\d", line) for line in code):
        return None
    return sha256(b"proveout canonical 1 word-address\n" + "".join(f"{line}\n" for line in code).encode())


def programs(folder, commit, record):
    for file in record["files"]:
        data = file_at(folder, commit, file["path"])
        if sha256(data) != file["raw_sha256"]:
            yield f"{file['path']}: other bytes than the revision's"
        own = simple_fingerprint(data)
        if own is not None and own != file["fingerprint"]:
            yield f"{file['path']}: another fingerprint than the revision's"


def operation(folder, commit, said):
    """What does not hold for one operation of a release."""
    seen = []
    for reference in said["relied_on"]:
        data = file_at(folder, commit, reference["path"])
        if sha256(data) != reference["sha256"]:
            yield f"{reference['path']}: other bytes than the release relied on"
            continue
        seen.append((reference["path"], data, tomllib.loads(data.decode("utf-8"))))
    own = [(path, data, r) for path, data, r in seen if path.endswith(f"/{said['revision']}.toml")]
    if len(own) != 1:
        yield f"{said['operation']}: no record of {said['revision']}"
        return
    path, data, record = own[0]
    if said["revision"].split("-")[1] != sha256(data)[:8]:
        yield f"{path}: its name does not open its own hash"
    if not record["operation_fingerprint"] == operation_fingerprint(record) == said["operation_fingerprint"]:
        yield f"{said['operation']}: the fingerprint does not come out again"
    yield from programs(folder, commit, record)
    if not any(r["event"] == "proof" and r["result"] == "accepted" for _, _, r in seen):
        yield f"{said['operation']}: no accepted proof"


def release(folder, ref):
    """What does not hold for one release tag."""
    text = git(folder, "cat-file", "tag", ref).decode("utf-8")
    head = dict(line.split(" ", 1) for line in text.split("\n\n", 1)[0].splitlines())
    if head["type"] != "commit" or f"refs/tags/{head['tag']}" != ref:
        yield "the tag does not stand straight on a commit under its own name"
    path, digest = re.search(r"record: (.+)\nsha256: ([0-9a-f]{64})", text).groups()
    data = file_at(folder, head["object"], path)
    if sha256(data) != digest:
        yield f"{path}: other bytes than the tag names"
        return
    record = tomllib.loads(data.decode("utf-8"))
    if ref != f"refs/tags/release/{record['job']}/{record['number']}":
        yield "the record is of another release"
    for said in record["operations"]:
        yield from operation(folder, head["object"], said)


def main(folder):
    refs = git(folder, "for-each-ref", "--format=%(refname)", "refs/tags/release/").decode("utf-8").split()
    bad = 0
    for ref in refs:
        reasons = list(release(folder, ref))
        bad += bool(reasons)
        print(f"{ref.removeprefix('refs/tags/')}: {'; '.join(reasons) or 'the evidence holds'}")
    print(f"{len(refs)} releases, {bad} that do not hold")
    return 1 if bad or not refs else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
