"""An index and notes below the git directory that lie, rightly sealed: what somebody who may write there could make of them.

Every lie says of what is recorded in a clone that all is well: rejections are acceptances of the newest text, texts have the
fingerprint that was proven, nothing was found in them, every signature is by the right key, every tag was derived before.
"""

import json
import subprocess
import tomllib
from hashlib import sha256
from pathlib import Path

from tracker.errors import ProveoutError
from tracker.frozen import replace
from tracker.nc.identity import RULE_VERSION
from tracker.records.signatures import signature_path
from tracker.records.stored import Found
from tracker.services.audit import _RULES
from tracker.services.program_facts import facts_of
from tracker.store.audited_before import note_derived, note_found, note_judged
from tracker.store.derived import remember
from tracker.store.facts_before import facts_before, note_facts
from tracker.store.kept import Kept
from tracker.store.kept_seals import KeptSeals
from tracker.store.read_before import note_jobs_read, note_sound
from tracker.store.toml_files import record_mapping


def git(folder: Path, *words: str) -> str:
    done = subprocess.run(["git", *words], cwd=folder, capture_output=True, check=True)
    return done.stdout.decode("utf-8", "surrogateescape").strip()


def blobs(folder: Path, state: str = "HEAD") -> dict[str, str]:
    """Path -> blob of everything in a state."""
    rows = (row.split("\t") for row in git(folder, "ls-tree", "-r", state).splitlines())
    return {path: head.split()[2] for head, path in rows}


def records(folder: Path, state: str = "HEAD") -> dict[str, str]:
    """Path -> blob of every record in a state that can be read at all."""
    return {path: blob for path, blob in blobs(folder, state).items() if _is_record(path)}


def _is_record(path: str) -> bool:
    return "/records/" in f"/{path}" and path.endswith(".toml")


def read(folder: Path, blob: str) -> bytes:
    done = subprocess.run(["git", "cat-file", "blob", blob], cwd=folder, capture_output=True, check=True)
    return done.stdout


def mappings(folder: Path) -> dict[str, tuple[str, dict]]:
    """Path -> blob and content of every record in hand that reads as one."""
    found = {}
    for path, blob in records(folder).items():
        try:
            found[path] = (blob, dict(record_mapping(read(folder, blob), path)))
        except ProveoutError:  # some put damage there; no lie is told of it
            continue
    return found


# -- lies of the index, each a function of the index to write to and the clone it speaks of


def of_records(kept: Kept, clone: Path) -> None:
    """Rejected reads accepted; stops are of other days and other jobs; nothing was ever found by the checks."""
    told = mappings(clone)
    rows = {}
    for blob, said in told.values():
        digest = sha256(read(clone, blob)).hexdigest()
        rows[blob] = json.dumps([digest, _as_if_well(said, told)]).encode("ascii")
    kept.put("record", rows)


def _as_if_well(said: dict, told: dict) -> dict:
    said = dict(said)
    event = said.get("event")
    if event == "proof":
        said["result"] = "accepted"
        said.pop("cause", None)
    elif event == "revision":
        said.pop("findings", None)
        said |= {
            key: value
            for key, value in _proven(told).items()
            if key in ("operation_fingerprint", "sheet_fingerprint")
        }
        said["origins"] = [dict(one, kinds=[], sections=[]) for one in said.get("origins", ())]
    elif event in ("hold", "withdraw"):
        said["job"] = "0000"
    return said


def _proven(told: dict) -> dict:
    """The revision the first proof speaks of."""
    for path, (_, said) in sorted(told.items()):
        if said.get("event") == "revision":
            return dict(said, path=path)
    return {}


def of_jobs(kept: Kept, clone: Path) -> None:
    """Every record of a stop or a rejection is said to be another job's."""
    bad = {
        blob
        for blob, said in mappings(clone).values()
        if said.get("event") in ("hold", "withdraw") or said.get("result") == "rejected"
    }
    every = {blob: "nobody's" if blob in bad else str(said.get("job", "")).lower()
             for blob, said in mappings(clone).values()}  # fmt: skip
    kept.put("jobs", {"all": json.dumps(every).encode("ascii")})


def stops(clone: Path) -> set[str]:
    """Paths of what stops use."""
    return {
        path
        for path, (_, said) in mappings(clone).items()
        if said.get("event") in ("hold", "withdraw") or said.get("result") == "rejected"
    }


def of_history(kept: Kept, clone: Path) -> None:
    """History and the state in hand as they are, but that what stops never came in."""
    gone = stops(clone)
    walk, listing = kept.one("walk", "last"), kept.one("listing", "last")
    if walk is not None:
        said = json.loads(walk)
        blobs = said["blobs"].split()
        left = [at for at, path in enumerate(said["paths"]) if path not in gone]
        for column in ("at", "paths", "how"):
            said[column] = [said[column][at] for at in left]
        said["blobs"] = " ".join(blobs[at] for at in left)
        kept.put("walk", {"last": json.dumps(said).encode("ascii")}, alone=True)
    if listing is not None:
        said = json.loads(listing)
        said["rows"] = {path: row for path, row in said["rows"].items() if path not in gone}
        kept.put("listing", {"last": json.dumps(said).encode("ascii")}, alone=True)


def of_answers(kept: Kept, clone: Path) -> None:
    """The board says proven of everything."""
    for kind in ("answer rows", "answer board"):
        base = kept._base()
        assert base is not None
        rows = base.execute("select key, value from kept where kind = ?", (kind,)).fetchall()
        for word in (b"rejected", b"unproven", b"held", b"withdrawn"):
            rows = [(key, value.replace(b'"%s"' % word, b'"proven"')) for key, value in rows]
        rows = [(key, value.replace(b"false", b"true")) for key, value in rows]
        kept.put(kind, dict(rows), alone=True)


def of_seals(kept: Kept, clone: Path) -> None:
    """Every signature holds by a key of who should have made it."""
    keys = keys_of(read(clone, blobs(clone)["shop.toml"]).decode())
    there = blobs(clone)
    pairs = {}
    for path, (blob, said) in mappings(clone).items():
        signature = there.get(signature_path(path))
        key = keys.get(str(said.get("entered_by") or said.get("by")))
        if signature and key:
            pairs[blob, signature] = Found(there=True, key=key)
    KeptSeals(kept).put(pairs)


def keys_of(shop: str) -> dict[str, str]:
    """Initials -> first key, of a shop.toml."""
    try:
        people = tomllib.loads(shop).get("people", [])
    except tomllib.TOMLDecodeError:
        return {}
    return {one["initials"]: one["keys"][0] for one in people if one.get("keys")}


OF_THE_INDEX = (of_records, of_jobs, of_history, of_answers, of_seals)


# -- lies of the notes


def notes(shared: Path, clone: Path) -> None:
    """Notes of the hook and of an audit: every text is the proven one, every tag was derived, nothing was found."""
    there = blobs(clone)
    texts = [read(clone, blob) for path, blob in there.items() if path.endswith((".nc", ".NC"))]
    facts = dict(facts_before(str(shared)))
    for text in texts:
        one = facts_of(text, facts)
        for strict in (False, True):
            one.identity(text, strict=strict)
    good = next(iter(facts.values()), None)
    if good is not None:
        note_facts(str(shared), {digest: _called(one, good) for digest, one in facts.items()})
    note_jobs_read(str(shared), dict.fromkeys(records(clone).values(), "nobody's"))
    note_sound(str(shared), [(blob, path) for path, blob in there.items() if path.endswith(".toml")])
    tags = [row.split() for row in git(clone, "for-each-ref", "refs/tags").splitlines()]
    for object_id, _, ref in tags:
        remember(str(shared), ref, object_id)
    note_derived(shared, _RULES, [object_id for object_id, _, _ in tags])
    tips = [row.split()[0] for row in git(clone, "for-each-ref").splitlines()]
    note_judged(shared, _RULES, {"tips": tips, "problems": []})


def _called(one, good):
    """The facts of a text with the fingerprints of another."""
    return replace(
        one,
        identities={
            strict: replace(it, fingerprint=good.identities[strict].fingerprint, rule_version=RULE_VERSION)
            for strict, it in one.identities.items()
        },
    )


def note_of_a_clean_audit(shared: Path, state: str) -> None:
    """That an audit of this very state found nothing."""
    found = {"problems": [], "commits": 1, "programs": 1, "records": 1, "releases": 1, "timezone": "UTC"}
    note_found(shared, f"{_RULES} {state}", found)


def tell_all(shared: Path, clone: Path) -> None:
    """Every lie at once, into the git directory ``shared``, of what the clone holds now."""
    kept = Kept(shared)
    for lie in OF_THE_INDEX:
        lie(kept, clone)
    kept.close()
    notes(shared, clone)
