"""Check this package without the program that made it: Python 3.11 or newer and nothing else.

Usage: python verify.py [FOLDER or ZIP] [--manifest SHA256]. Without a name it looks at the folder it lies in. One line a
fault; exit 1 when there is one, 2 when nothing could be looked at. What is held against what:

1. Every file against manifest.txt, and manifest.txt against the figure you were told another way (--manifest).
2. Every revision record against its own name, which opens the SHA-256 of its bytes; every program of a revision against
   the SHA-256 in the record; the fingerprint of the operation against the lines it is made of.
3. Every release tag against its release record, and that against every record it relied on, each by its SHA-256.
4. Every record that speaks of another (a proof of its revision, a countersign of its proof) against what is here.
5. Every signature against the keys in signers.txt, if ssh-keygen is on this PC.

It does not judge whether a proof may be carried over, nor whether a key counted on the day: these are rules of the shop's
policy. It cannot know what the spindle ran.
"""

import hashlib
import re
import shutil
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path
from urllib.parse import quote, unquote

try:
    import tomllib
except ImportError:
    sys.exit("This needs Python 3.11 or newer.")

SAFE = "/ !#$&'()+,-.;=@[]^_`{}~"
ARMOUR = b"-----BEGIN SSH SIGNATURE-----"
NAMES_ANOTHER = ("proof", "record", "hold", "withdrawal")
RECORDS = "records/"


def main(words):
    """Look at everything and say what was found."""
    sys.stdout.reconfigure(errors="backslashreplace")
    told = None
    if "--manifest" in words:
        at = words.index("--manifest")
        told = "".join(words[at + 1 : at + 2]).strip().lower()
        words = words[:at] + words[at + 2 :]
    place = Path(words[0]) if words else Path(__file__).resolve().parent
    try:
        files, faults = load(place)
    except (OSError, zipfile.BadZipFile) as fault:
        print(f"{place} cannot be read: {fault}")
        return 2
    if "manifest.txt" not in files:
        print(f"{place}: there is no manifest.txt; this is no such package, or not the whole of it")
        return 2
    records, broken = read_records(files)
    faults += broken
    for found in (
        manifest(files, told),
        revisions(files, records),
        releases(files, records),
        references(records),
    ):
        faults += told_all(found)
    signed, not_good = signatures(files, records)
    faults += not_good
    for line in faults:
        print(f"FAULT  {line}")
    said = "told another way and the same" if told and told == sha256(files["manifest.txt"]) else "compare it"
    print(f"manifest.txt has the SHA-256 {sha256(files['manifest.txt'])} ({said})")
    print(f"{signed}")
    print(f"{len(files)} files, {len(records)} records, {len(faults)} faults")
    return 1 if faults else 0


def sha256(data):
    """As sha256sum prints it."""
    return hashlib.sha256(data).hexdigest()


def spelled(path):
    """A path of the repository as the package spells it."""
    return quote(path, safe=SAFE, errors="surrogateescape")


def told_all(found):
    """All faults; a record whose form is another one than it should be ends them with one that says so."""
    faults = []
    try:
        for line in found:
            faults.append(line)  # noqa: PERF402 - what was told before the fault stays
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        faults.append(
            f"something here has not the form it should have ({fault!r}); not everything was looked at"
        )
    return faults


def load(place):
    """Name -> bytes of every file, and what is wrong with the container itself."""
    if place.is_dir():
        found = (path for path in place.rglob("*") if path.is_file() and "__pycache__" not in path.parts)
        return {path.relative_to(place).as_posix(): path.read_bytes() for path in found}, []
    with zipfile.ZipFile(place) as packed:
        names = [name for name in packed.namelist() if not name.endswith("/")]
        twice = (
            sorted({name for name in names if names.count(name) > 1}) if len(set(names)) < len(names) else []
        )
        return {name: packed.read(name) for name in names}, [
            f"{name}: is in the file twice" for name in twice
        ]


def read_records(files):
    """Path in the repository -> content of every record; those that are no TOML are faults."""
    found, broken = {}, []
    for name, data in sorted(files.items()):
        if name.startswith(RECORDS) and name.endswith(".toml"):
            path = unquote(name.removeprefix(RECORDS), errors="surrogateescape")
            if RECORDS + spelled(path) != name:
                broken.append(f"{name}: is not spelled as a package spells its records")
                continue
            try:
                found[path] = tomllib.loads(data.decode("utf-8"))
            except ValueError as fault:
                broken.append(f"{name}: is damaged: {fault}")
    return found, broken


def manifest(files, told):
    """Files that are not as they were listed, are missing, or were never listed (point 1)."""
    if told and told != sha256(files["manifest.txt"]):
        yield "manifest.txt: is not the one whose SHA-256 you were told"
    listed = {}
    for line in files["manifest.txt"].decode("utf-8").splitlines():
        digest, _, name = line.partition("  ")
        listed[name] = digest
    for name, digest in sorted(listed.items()):
        if name not in files:
            yield f"{name}: is listed and missing"
        elif sha256(files[name]) != digest:
            yield f"{name}: is not as it was listed"
    for name in sorted(files.keys() - listed.keys() - {"manifest.txt"}):
        yield f"{name}: was never listed"


def revisions(files, records):
    """Revision records that do not hold, and programs that are not theirs (point 2)."""
    for path, record in records.items():
        if record.get("event") != "revision":
            continue
        stem = path.rsplit("/", 1)[-1].removesuffix(".toml")
        if stem.partition("-")[2] != sha256(files[RECORDS + spelled(path)])[:8]:
            yield f"{path}: its name does not open its own SHA-256"
        if "before" not in record and record.get("operation_fingerprint") != operation_fingerprint(record):
            yield f"{path}: the fingerprint of the operation does not come out again"
        folder = f"programs/{record.get('job')}/{record.get('operation')}/{stem}/"
        for file in record.get("files", ()):
            data = files.get(folder + spelled(file["path"]))
            if data is None:
                yield f"{path}: the program {file['path']} is not here"
            elif sha256(data) != file["raw_sha256"]:
                yield f"{path}: the program {file['path']} has other bytes than the record says"


def operation_fingerprint(record):
    """SHA-256 over the lines that stand for the operation."""
    lines = [f"proveout operation {record.get('rule_version')}" + (" strict" if record.get("strict") else "")]
    lines += [
        f"{file.get('number', '-')} {file['name'].upper()} {file['fingerprint']}"
        for file in record.get("files", ())
    ]
    return sha256(
        "".join(f"{line}\n" for line in [*lines, f"sheet {record.get('sheet_fingerprint')}"]).encode()
    )


def releases(files, records):
    """Release tags, release records and what they rely on (point 3)."""
    tagged = set()
    for name in sorted(files):
        if name.startswith("tags/release/"):
            path, faults = tag(name, files, records)
            tagged.add(path)
            yield from faults
    for path, record in records.items():
        if record.get("event") == "release":
            if path not in tagged:
                yield f"{path}: no release tag names this record"
            for said in record.get("operations", ()):
                yield from relied_on(path, said, files, records)


def tag(name, files, records):
    """The record a tag object names, and what does not agree."""
    text = files[name].decode("utf-8", "replace")
    head = dict(line.split(" ", 1) for line in text.split("\n\n", 1)[0].splitlines() if " " in line)
    found = re.search(r"record: (.+)\nsha256: ([0-9a-f]{64})", text)
    if head.get("type") != "commit" or f"tags/{head.get('tag')}.tag" != name or not found:
        return None, [f"{name}: is no release tag of that name"]
    path, digest = found.groups()
    if RECORDS + spelled(path) not in files:
        return path, [f"{name}: the record {path} is not here"]
    if sha256(files[RECORDS + spelled(path)]) != digest:
        return path, [f"{name}: {path} has other bytes than the tag names"]
    record = records.get(path, {})
    if head["tag"] != f"release/{record.get('job')}/{record.get('number')}":
        return path, [f"{name}: {path} is of another release"]
    return path, []


def relied_on(path, said, files, records):
    """What does not hold for one operation of a release."""
    seen = {}
    for reference in said.get("relied_on", ()):
        data = files.get(RECORDS + spelled(reference["path"]))
        if data is None:
            yield f"{path}: relied on {reference['path']}, which is not here"
        elif sha256(data) != reference["sha256"]:
            yield f"{path}: relied on {reference['path']}, which has other bytes here"
        else:
            seen[reference["path"]] = records.get(reference["path"], {})
    own = [one for name, one in seen.items() if name.endswith(f"/{said['revision']}.toml")]
    if len(own) != 1 or own[0].get("operation_fingerprint") != said["operation_fingerprint"]:
        yield f"{path}: {said['operation']}: the revision it released is not among what it relied on"
    if not any(one.get("event") == "proof" and one.get("result") == "accepted" for one in seen.values()):
        yield f"{path}: {said['operation']}: no accepted proof is among what it relied on"


def references(records):
    """Records that speak of records that are not here (point 4)."""
    names = {path.rsplit("/", 1)[-1].removesuffix(".toml") for path in records}
    for path, record in records.items():
        revision = record.get("revision")
        if revision and record.get("event") != "revision" and revision not in names:
            yield f"{path}: its revision {revision} is not here"
        for key in NAMES_ANOTHER:
            other = record.get(key)
            if isinstance(other, str) and other.rsplit("/", 1)[-1].removesuffix(".toml") not in names:
                yield f"{path}: speaks of {other}, which is not here"


def signatures(files, records):
    """A sentence on how many were looked at, and those that do not hold (point 5)."""
    asked = []
    for path, record in records.items():
        armoured = files.get(f"{RECORDS}{spelled(path)}.sig")
        if armoured is not None:
            who = record.get("entered_by") or record.get("by")
            asked.append((path, who, files[RECORDS + spelled(path)], armoured, "proof@proveout"))
    for name, data in sorted(files.items()):
        if name.startswith("tags/") and ARMOUR in data:
            text, mark, rest = data.partition(ARMOUR)
            asked.append((name, None, text, mark + rest, "git"))
    tags = [name for name in files if name.startswith("tags/")]
    of_tags = sum(space == "git" for *_, space in asked)
    count = f"{len(asked) - of_tags} of {len(records)} records and {of_tags} of {len(tags)} tags are signed"
    program = shutil.which("ssh-keygen")
    if not asked or program is None:
        return count + ("" if not asked else "; NOT looked at: there is no ssh-keygen on this PC"), []
    return f"{count}; each was held against signers.txt", [
        f"{name}: the signature does not hold: {why}"
        for name, who, data, armoured, space in asked
        if (why := bad_signature(program, files, who, data, armoured, space))
    ]


def bad_signature(program, files, who, data, armoured, space):
    """Why a signature does not hold, or nothing. ``who``: whose it must be; None: whoever is listed."""
    with tempfile.TemporaryDirectory() as folder:
        signers, signature = Path(folder, "signers"), Path(folder, "signature")
        signers.write_bytes(files.get("signers.txt", b""))
        signature.write_bytes(armoured)
        if who is None:
            done = run(program, "-Y", "find-principals", "-s", str(signature), "-f", str(signers))
            who = done.stdout.decode("utf-8", "replace").split("\n")[0].strip()
        if not who:
            return "nobody in signers.txt has that key"
        call = ("-Y", "verify", "-f", str(signers), "-I", who, "-n", space, "-s", str(signature))
        done = run(program, *call, data=data)
        said = (done.stderr or done.stdout).decode("utf-8", "replace").strip().split("\n")[0]
        return "" if done.returncode == 0 else said or "refused"


def run(program, *words, data=b""):
    """One call of ssh-keygen."""
    return subprocess.run([program, *words], input=data, capture_output=True, check=False)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
