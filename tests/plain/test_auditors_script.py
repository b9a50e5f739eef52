"""The auditor's package is checked by its own script in a bare Python: it holds, and each way of altering it is told.

The script is run with -I -S: no environment, no site-packages, so nothing of this project can be imported by it.
"""

import hashlib
import io
import json
import re
import subprocess
import sys
import warnings
import zipfile
from pathlib import Path

import pytest

from tests.fakes.shop_folder import CALLED, JOB, MAIN, SHOP, SUB, ShopFolder
from tests.plain.rederive import release
from tests.store.keys import line_of, make_key
from tracker.cli.entry import main

NOW = "2026-03-20T13:00:00Z"
PROGRAM = "programs/4502/op10/r0001-DIGITS/jobs/4502/op10/O1201.nc"
PROOF = "records/jobs/4502/records/op10/r0001-DIGITS-proof-MILL3-20260304T152000Z-kp.toml"
REVISION = "records/jobs/4502/records/op10/r0001-DIGITS.toml"
RELEASE = "records/jobs/4502/records/release-0001.toml"
TAG = "tags/release/4502/1.tag"
HOLD = "records/jobs/4471/records/op20/20260205T082000Z-hold-dg.toml"


def spelled(files, text):
    """A path, or words, with the digits of the revision's name, which change with the version of the checks."""
    found = (re.search(r"/4502/records/op10/r0001-([0-9a-f]{8})\.toml$", path) for path in files)
    return text.replace("DIGITS", next(one[1] for one in found if one))


def bundle(shop, target, *words, status=0):
    with pytest.MonkeyPatch.context() as world:
        world.setenv("PROVEOUT_NOW", NOW)
        assert main(["-C", str(shop), "audit", "--bundle", str(target), *words]) == status


def run(place, *words, python=("-I", "-S"), script=None):
    """The script out of the package itself, copied to where only it lies."""
    if script is None:
        script = place.parent / "alone" / "verify.py"
        script.parent.mkdir(exist_ok=True)
        script.write_bytes((Path(__file__).parents[2] / "hooks" / "auditor" / "verify.py").read_bytes())
    done = subprocess.run(
        [sys.executable, *python, str(script), *([str(place)] if place else []), *words],
        capture_output=True, text=True, check=False, cwd=script.parent,
    )  # fmt: skip
    assert "Traceback" not in done.stderr, done.stderr
    return done.returncode, done.stdout


def redone(files):
    """The manifest made anew, as somebody would who alters the rest."""
    lines = (
        f"{hashlib.sha256(data).hexdigest()}  {name}\n"
        for name, data in sorted(files.items())
        if name != "manifest.txt"
    )
    files["manifest.txt"] = "".join(lines).encode()


def swap(name, old, new):
    def change(files):
        path = spelled(files, name)
        assert old in files[path]
        files[path] = files[path].replace(old, new)

    return change


def lose(name):
    return lambda files: files.pop(spelled(files, name))


def plant(files):
    files[HOLD.replace("20260205T082000Z", "20260207T082000Z")] = files[HOLD]


def spell_twice(files):
    """A proof under two spellings of one path."""
    proof = spelled(files, PROOF)
    files[proof.replace("-kp", "-%6Bp")] = files[proof]


def rename_revision(files):
    """A revision record altered and named after its new bytes, its programs with it: all that refers to it is left."""
    path, before = spelled(files, REVISION), spelled(files, "r0001-DIGITS")
    data = files.pop(path).replace(b"\nreason = ", b"\nreason = 'x' # ", 1)
    name = f"r0001-{hashlib.sha256(data).hexdigest()[:8]}"
    files[path.replace(before, name)] = data
    for path in [path for path in files if f"/{before}/" in path and "/4502/" in path]:
        files[path.replace(before, name)] = files.pop(path)


def other_record(files):
    """The tag of release 4502/1 names another release's record, with its true hash."""
    other = "jobs/4471/records/release-0001.toml"
    digest = hashlib.sha256(files[f"records/{other}"]).hexdigest().encode()
    files[TAG] = re.sub(
        rb"record: \S+\nsha256: \w+", b"record: " + other.encode() + b"\nsha256: " + digest, files[TAG]
    )


# what was done | whether the manifest was made anew | what the script must say
TAMPERED = {
    "a program": (swap(PROGRAM, b"S7000", b"S7900"), False, f"{PROGRAM}: is not as it was listed"),
    "a record": (swap(PROOF, b"2275", b"2276"), False, f"{PROOF}: is not as it was listed"),
    "a proof lost": (lose(PROOF), False, f"{PROOF}: is listed and missing"),
    "a record planted": (plant, False, "was never listed"),
    "a program, sums redone": (swap(PROGRAM, b"S7000", b"S7900"), True, "has other bytes than the record says"),
    "a program lost, sums redone": (lose(PROGRAM), True, "the program jobs/4502/op10/O1201.nc is not here"),
    "a proof, sums redone": (swap(PROOF, b"2275", b"2276"), True, "which has other bytes here"),
    "a proof lost, sums redone": (lose(PROOF), True, "which is not here"),
    "a revision, sums redone": (swap(REVISION, b'by = "', b'by  = "'), True, "its name does not open its own SHA-256"),
    "a revision renamed": (rename_revision, True, "the revision it released is not among what it relied on"),
    "a fingerprint": (swap(REVISION, b'sheet_fingerprint = "', b'sheet_fingerprint = "0'), True, "does not come out again"),
    "a release, sums redone": (swap(RELEASE, b'by = "dg"', b'by = "kp"'), True, "has other bytes than the tag names"),
    "a release lost": (lose(RELEASE), True, "release-0001.toml is not here"),
    "a tag lost": (lose(TAG), True, "release-0001.toml: no release tag names this record"),
    "a tag on another record": (other_record, True, "is of another release"),
    "a tag renamed": (swap(TAG, b"tag release/4502/1", b"tag release/4502/2"), True, "is no release tag of that name"),
    "a record made unreadable": (swap(PROOF, b"=", b"=="), True, "is damaged"),
    "a record spelled twice": (spell_twice, True, "is not spelled as a package spells its records"),
    "a record of another form": (swap(RELEASE, b"relied_on", b"relied_ON"), True, "not among what it relied on"),
    "a list of numbers": (swap(REVISION, b"[[files]]", b"files = [1]\n[[filez]]"), True, "has not the form"),
}  # fmt: skip


@pytest.fixture(scope="module")
def package(threepenny_once, tmp_path_factory):
    target = tmp_path_factory.mktemp("package") / "auditor.zip"
    bundle(threepenny_once, target)
    return target


@pytest.fixture
def files(package):
    with zipfile.ZipFile(package) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def packed(files, place):
    with zipfile.ZipFile(place, "w") as target:
        for name, data in files.items():
            target.writestr(name, data)
    return place


def test_the_package_of_the_sample_shop_holds(package, files):
    status, said = run(package)
    assert status == 0, said
    assert said.splitlines()[-1] == f"{len(files)} files, 27 records, 0 faults"
    figure = hashlib.sha256(files["manifest.txt"]).hexdigest()
    status, said = run(package, "--manifest", figure)
    assert (status, "told another way and the same" in said) == (0, True)


def test_it_holds_unpacked_and_is_checked_from_inside(package, tmp_path):
    with zipfile.ZipFile(package) as archive:
        archive.extractall(tmp_path / "open")
    status, said = run(None, script=tmp_path / "open" / "verify.py")
    assert (status, "0 faults" in said) == (0, True), said


@pytest.mark.parametrize("what", TAMPERED)
def test_what_was_altered_is_told(files, tmp_path, what):
    change, again, words = TAMPERED[what]
    before, words = dict(files), spelled(files, words)
    change(files)
    assert files != before
    if again:
        redone(files)
    status, said = run(packed(files, tmp_path / "altered.zip"))
    assert status == 1, said
    assert words in said
    assert "FAULT" in said


def test_who_alters_everything_cannot_alter_the_figure_that_was_told(package, files, tmp_path):
    told = hashlib.sha256(files["manifest.txt"]).hexdigest()
    swap(HOLD, b"gauge", b"gouge")(files)  # nothing else rests on this record
    redone(files)
    place = packed(files, tmp_path / "altered.zip")
    assert run(place)[0] == 0
    status, said = run(place, "--manifest", told)
    assert (status, "is not the one whose SHA-256 you were told" in said) == (1, True)


def test_a_file_that_is_in_it_twice(files, tmp_path):
    place, proof = packed(files, tmp_path / "altered.zip"), spelled(files, PROOF)
    with warnings.catch_warnings(), zipfile.ZipFile(place, "a") as target:
        warnings.simplefilter("ignore")
        target.writestr(proof, files[proof])
    status, said = run(place)
    assert (status, f"{proof}: is in the file twice" in said) == (1, True)


@pytest.mark.parametrize("data", [b"", b"PK no zip", None])
def test_what_is_no_package(tmp_path, data):
    place = tmp_path / "x.zip"
    if data is not None:
        place.write_bytes(data)
    status, said = run(place)
    assert (status, "cannot be read" in said) == (2, True)
    assert run(tmp_path)[0] == 2


def test_signatures_are_held_against_the_listed_keys(threepenny, tmp_path, monkeypatch, outside_program):
    outside_program("ssh-keygen")
    key, other = make_key(tmp_path / "keys", "dg"), make_key(tmp_path / "keys", "stranger")
    monkeypatch.setenv("PROVEOUT_NOW", NOW)
    text = (threepenny / "shop.toml").read_text(encoding="utf-8")
    mine = f'initials = "dg"\nkeys = ["{line_of(key)}"]\n'
    (threepenny / "shop.toml").write_text(text.replace('initials = "dg"\n', mine), encoding="utf-8")
    shop = ["-C", str(threepenny)]
    assert main([*shop, "checkin", "shop.toml", "-m", "key of dg", "--by", "dg"]) == 0
    assert main([*shop, "hold", "4502/op10", "--by", "dg", "-m", "ask", "--key", str(key)]) == 0
    bundle(threepenny, tmp_path / "signed.zip")
    with zipfile.ZipFile(tmp_path / "signed.zip") as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    signed = [name for name in files if name.endswith(".toml.sig")]
    status, said = run(tmp_path / "signed.zip")
    assert (status, len(signed) >= 1) == (0, True), said
    assert f"{len(signed)} of 29 records" in said
    hold = next(name for name in signed if "-hold-" in name).removesuffix(".sig")
    swap(hold, b'"ask"', b'"asl"')(files)
    redone(files)
    status, said = run(packed(files, tmp_path / "altered.zip"))
    assert (status, f"{hold.removeprefix('records/')}: the signature does not hold" in said) == (1, True)
    swap(hold, b'"asl"', b'"ask"')(files)
    files["signers.txt"] = f"dg {line_of(other)}\n".encode()
    redone(files)
    status, said = run(packed(files, tmp_path / "altered.zip"))
    assert (status, "the signature does not hold" in said) == (1, True)


def test_the_same_record_makes_the_same_package(threepenny_once, package, tmp_path):
    bundle(threepenny_once, tmp_path / "again.zip")
    assert (tmp_path / "again.zip").read_bytes() == package.read_bytes()


def test_its_manifest_is_read_by_sha256sum(package, tmp_path, outside_program):
    with zipfile.ZipFile(package) as archive:
        archive.extractall(tmp_path)
    call = [outside_program("sha256sum"), "-c", "--quiet", "manifest.txt"]
    assert subprocess.run(call, cwd=tmp_path, check=False).returncode == 0


def test_its_index_names_every_release_and_what_no_record_can_know(files):
    page = files["index.html"].decode("utf-8")
    assert "not what the spindle ran" in page
    assert "Nothing that was recorded is missing here." in page
    for record in (name for name in files if "/release-" in name):
        assert f'href="{record}"' in page
    for name in re.findall(r'href="([^"]+)"', page):
        assert name in files
    assert "<script" not in page


def test_what_cannot_be_read_back_is_said(threepenny, tmp_path, capsys):
    """A program that went missing from a commit cannot be put there again; the record of it is damaged by hand here."""
    path = next((threepenny / "jobs/4502/records/op10").glob("r0002-*.toml"))
    path.write_bytes(path.read_bytes().replace(b"O1201.nc", b"O1299.nc"))
    subprocess.run(
        ["git", "-c", "core.hooksPath=/dev/null", "commit", "-qam", "x"], cwd=threepenny, check=True
    )
    bundle(threepenny, tmp_path / "gaps.zip", "--json", status=1)
    said = json.loads(capsys.readouterr().out)["bundle"]
    assert any("O1299.nc of r2" in gap for gap in said["missing"])
    status, out = run(tmp_path / "gaps.zip")
    assert (status, "O1299.nc is not here" in out) == (1, True)


def test_a_file_is_never_written_over_unasked(threepenny_once, tmp_path, capsys, monkeypatch):
    monkeypatch.setenv("PROVEOUT_NOW", NOW)
    place = tmp_path / "there.zip"
    place.write_bytes(b"mine")
    bundle(threepenny_once, place, status=2)
    assert (place.read_bytes(), "[file-exists]" in capsys.readouterr().err) == (b"mine", True)
    bundle(threepenny_once, tmp_path / "no" / "folder.zip", status=2)
    assert "[no-such-folder]" in capsys.readouterr().err
    bundle(threepenny_once, tmp_path, status=2)
    assert "[is-a-folder]" in capsys.readouterr().err
    bundle(threepenny_once, place, "--list", "carries", status=2)
    assert "[wrong-call]" in capsys.readouterr().err
    bundle(threepenny_once, place, "--force")
    assert zipfile.is_zipfile(io.BytesIO(place.read_bytes()))


def test_a_folder_with_blanks_and_letters_of_a_language_holds(tmp_path, capsys, monkeypatch):
    """The job's folder is called as the shop calls it, the job by its number."""
    monkeypatch.setenv("PROVEOUT_NOW", NOW)
    shop = ShopFolder(tmp_path / "shop", capsys, monkeypatch)
    shop.put("shop.toml", SHOP)
    shop.run("init", ".", "--name", "Test shop")
    folder = "jobs/4471 spate Vögel"
    shop.put(f"{folder}/job.toml", JOB)
    shop.put(f"{folder}/op10/O1001.nc", MAIN)
    shop.put(CALLED, SUB)
    shop.run("checkin", "4471", "-m", "first issue", "--by", "np")
    shop.prove()
    shop.run("release", "4471", "--by", "dg", "--yes")
    target = tmp_path / "package.zip"
    bundle(shop.folder, target)
    status, said = run(target)
    assert (status, "0 faults" in said) == (0, True), said
    assert "0 of 3 records and 0 of 1 tags are signed" in said
    assert list(release(shop.folder, "refs/tags/release/4471/1")) == []
