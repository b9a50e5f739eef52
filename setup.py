"""Build steps that pyproject.toml cannot express.

Two things happen here:

1. ``tracker/nc/_scanner.pyx`` and ``tracker/machining/_walker.pyx`` are compiled where that is possible. The
   extensions are optional: without a C compiler (or with ``PROVEOUT_PURE=1`` in the environment of the build) the
   install succeeds and the plain-Python reference does the work, with the same results and less speed.
2. The hook templates, the sample shop and the auditor's script live at the top of the source tree, where people look
   for them. A built package carries them as ``tracker/_data/hooks`` and so on; the copies are written into the built
   package only, never into the source tree. A checkout finds them beside the package.
"""

import os
import sys
from pathlib import Path

from setuptools import Extension, setup
from setuptools.command.build_py import build_py

HERE = Path(__file__).resolve().parent
DATA_FOLDERS = ("hooks", "sample_repo")
LEFT_BEHIND = ("__pycache__",)


def data_files(folder: str) -> list[Path]:
    """The files of one top-level data folder, relative to the source tree, in a fixed order."""
    found = (path for path in (HERE / folder).rglob("*") if path.is_file())
    relative = (path.relative_to(HERE) for path in found)
    return sorted(path for path in relative if not set(LEFT_BEHIND) & set(path.parts))


class BuildWithData(build_py):
    """Also copies the data folders into the built package."""

    def run(self) -> None:
        """Build as usual, then copy; an editable install finds the folders beside the package."""
        super().run()
        if not self.editable_mode:
            for source, target in self._data():
                self.mkpath(str(target.parent))
                self.copy_file(str(source), str(target), preserve_mode=True)

    def get_outputs(self, include_bytecode: bool = True) -> list[str]:
        """Name the copies too, so that an uninstall takes them away."""
        outputs: list[str] = super().get_outputs(include_bytecode)
        return outputs if self.editable_mode else outputs + [str(target) for _, target in self._data()]

    def _data(self) -> list[tuple[Path, Path]]:
        base = Path(self.build_lib) / "tracker" / "_data"
        return [(HERE / path, base / path) for folder in DATA_FOLDERS for path in data_files(folder)]


def extensions() -> list[Extension]:
    """The compiled scanner and walker, or nothing where they were declined or Cython is missing."""
    if os.environ.get("PROVEOUT_PURE") == "1":
        return []
    try:
        from Cython.Build import cythonize
    except ImportError:
        return []
    scanner = Extension("tracker.nc._scanner", ["tracker/nc/_scanner.pyx"])
    # Figures must have the same bits as in plain Python: no product and sum rounded as one. Microsoft's compiler does
    # not do that unless asked.
    bits = [] if sys.platform == "win32" else ["-ffp-contract=off"]
    walker = Extension(
        "tracker.machining._walker", ["tracker/machining/_walker.pyx"], extra_compile_args=bits
    )
    built: list[Extension] = cythonize([scanner, walker], language_level=3, build_dir="build/cython")
    for extension in built:
        extension.optional = True  # set here: cythonize makes new objects and loses it
    return built


setup(
    cmdclass={"build_py": BuildWithData},
    ext_modules=extensions(),
    # With a package folder named, an editable install is one plain path entry instead of an import hook,
    # which every start of the console script would pay for.
    package_dir={"": "."},
)
