import os
import shutil
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LEFT_OUT = shutil.ignore_patterns(
    ".git", ".venv*", "build", "dist", "*.egg-info", "__pycache__", "*.so", "*.pyd", ".*_cache", ".hypothesis"
)


@pytest.fixture(scope="module")
def source(tmp_path_factory):
    copy = tmp_path_factory.mktemp("source") / "proveout"
    shutil.copytree(ROOT, copy, ignore=LEFT_OUT)
    for folder in ("hooks", "sample_repo"):
        (copy / folder / "deep er").mkdir(parents=True, exist_ok=True)
        (copy / folder / "deep er" / "probe.txt").write_bytes(b"travels\r\n")
    return copy


def translated(source):
    """For what is not about the compiled parts: the C the checkout was built from, where there is one; Cython looks whether it is old."""
    shutil.rmtree(source / "build", ignore_errors=True)
    if (ROOT / "build" / "cython").is_dir():
        shutil.copytree(ROOT / "build" / "cython", source / "build" / "cython")


def wheel(source, target, **environment):
    call = [
        sys.executable,
        "-m",
        "pip",
        "wheel",
        "--no-build-isolation",
        "--no-deps",
        "-q",
        "-w",
        str(target),
        ".",
    ]
    clean = {name: value for name, value in os.environ.items() if name != "PROVEOUT_PURE"}
    ran = subprocess.run(call, cwd=source, capture_output=True, text=True, env={**clean, **environment})
    assert ran.returncode == 0, ran.stderr
    [made] = target.glob("*.whl")
    return made


COMPILED = ["tracker/machining/_walker", "tracker/nc/_scanner"]


def compiled(names):
    """Which of the compiled parts are among the files."""
    built = [name for name in names if name.endswith((".so", ".pyd"))]
    return [part for part in COMPILED if any(name.startswith(f"{part}.") for name in built)]


def same_answers(made, folder, engine):
    installed = folder / "installed"
    with zipfile.ZipFile(made) as archive:
        archive.extractall(installed)
    code = (
        f"import sys; sys.path.insert(0, {str(installed)!r})\n"
        "from tracker.nc import scan; import tracker\n"
        "print(scan.engine(), scan.canonical(b'N1 G01 X1.50\\n').decode().strip(), tracker.__file__)"
    )
    ran = subprocess.run([sys.executable, "-I", "-c", code], capture_output=True, text=True, cwd=folder)
    assert ran.returncode == 0, ran.stderr
    said, block, where = ran.stdout.split(maxsplit=2)
    assert (said, block) == (engine, "G1X1.5")
    assert Path(where.strip()).is_relative_to(installed)


@pytest.mark.slow
def test_a_wheel_with_the_compiled_scanner(source, tmp_path):
    shutil.rmtree(source / "build", ignore_errors=True)
    made = wheel(source, tmp_path, CFLAGS="-O0")  # it is asked for one line: nobody waits for a quick scanner
    with zipfile.ZipFile(made) as archive:
        names = archive.namelist()
        for folder in ("hooks", "sample_repo"):
            assert archive.read(f"tracker/_data/{folder}/deep er/probe.txt") == b"travels\r\n"
    assert compiled(names) == COMPILED
    assert not any(name.startswith(("hooks/", "sample_repo/", "tests/")) for name in names)
    assert not (source / "tracker" / "_data").exists()
    same_answers(made, tmp_path, "compiled")


@pytest.mark.slow
def test_a_wheel_without_it(source, tmp_path):
    shutil.rmtree(source / "build", ignore_errors=True)
    made = wheel(source, tmp_path, PROVEOUT_PURE="1")
    with zipfile.ZipFile(made) as archive:
        names = archive.namelist()
    assert not compiled(names)
    assert made.name.endswith("-py3-none-any.whl")
    assert "tracker/_data/hooks/deep er/probe.txt" in names
    same_answers(made, tmp_path, "plain")


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="the compiler of Windows is not found through CC")
def test_an_install_without_a_compiler_succeeds(source, tmp_path):
    translated(source)
    made = wheel(source, tmp_path, CC="no-such-compiler")
    with zipfile.ZipFile(made) as archive:
        names = archive.namelist()
    assert not compiled(names)
    same_answers(made, tmp_path, "plain")


@pytest.mark.slow
def test_the_source_archive_holds_what_a_build_needs(source, tmp_path):
    translated(source)
    code = f"from setuptools import build_meta; build_meta.build_sdist({str(tmp_path)!r})"
    ran = subprocess.run([sys.executable, "-c", code], cwd=source, capture_output=True, text=True)
    assert ran.returncode == 0, ran.stderr
    [made] = tmp_path.glob("*.tar.gz")
    with tarfile.open(made) as archive:
        names = {name.split("/", 1)[1] for name in archive.getnames() if "/" in name}
    assert {
        "setup.py", "pyproject.toml", "tracker/nc/_scanner.pyx", "tracker/nc/_scanner_words.pxi", "tracker/py.typed",
        "tracker/machining/_walker.pyx", "tracker/machining/_walker_words.pxi",
        "hooks/deep er/probe.txt", "sample_repo/deep er/probe.txt", "hooks/auditor/verify.py",
    } <= names  # fmt: skip
