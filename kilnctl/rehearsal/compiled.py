"""The compiled build of what a rehearsed heat runs through: the same heats, two or three times as fast.

`python -m kilnctl.rehearsal.compiling` makes it. Only what heats nothing uses it: dry-run and
prove. Where it is missing, made of another source or open to others, Python runs as it stands.
"""

import hashlib
import os
import sys
from collections.abc import Sequence
from importlib.abc import MetaPathFinder
from importlib.machinery import EXTENSION_SUFFIXES, ModuleSpec
from importlib.util import spec_from_file_location
from pathlib import Path
from types import ModuleType

from kilnctl.config import home

TOP = Path(__file__).parents[2]
PACKAGES = ("kilnctl", "simulator")


def use() -> bool:
    """Load modules from the compiled build from now on; return whether there is one to load from."""
    folder = build_folder()
    if any(isinstance(finder, _Finder) for finder in sys.meta_path):
        return True
    if not folder.is_dir() or _others_write(folder):
        return False
    found = modules(folder)
    if any(name in sys.modules for name in found):
        return False  # half compiled, half not: two classes of one name
    sys.meta_path.insert(0, _Finder(found))
    return True


def build_folder() -> Path:
    """Return where the build of this source, for this Python, lies or would lie."""
    return home.home() / "compiled" / source_key()


def source_key() -> str:
    """Return a name that changes with any line of the source, and with the Python that runs it."""
    made_of = hashlib.sha256(f"{sys.version} {os.uname().machine}".encode())
    for package in PACKAGES:
        for path in sorted((TOP / package).rglob("*.py")):
            made_of.update(str(path.relative_to(TOP)).encode() + b"\0" + path.read_bytes() + b"\0")
    return made_of.hexdigest()[:24]


def modules(folder: Path) -> dict[str, Path]:
    """Return the modules of a build by their names."""
    found = sorted(folder.rglob(f"*{EXTENSION_SUFFIXES[0]}"))
    return {".".join(p.relative_to(folder).parts).removesuffix(EXTENSION_SUFFIXES[0]): p for p in found}


def _others_write(folder: Path) -> bool:
    """True where somebody else could have put code into the folder."""
    for path in (folder, folder.parent, folder.parent.parent):
        found = path.stat()
        if found.st_uid != os.getuid() or found.st_mode & 0o022:
            return True
    return False


class _Finder(MetaPathFinder):
    """Finds the modules of a build before the source of the same name is looked for."""

    def __init__(self, modules: dict[str, Path]) -> None:
        self._modules = modules

    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        """Return where a module of the build lies, None for every other."""
        file = self._modules.get(fullname)
        return None if file is None else spec_from_file_location(fullname, file)
