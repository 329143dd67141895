"""Everything of one kilnctl folder in one file, and back: the logbook, oven files, recipes and steel cards.

Learned ovens, set-up steps and calibrations are entries of the logbook. `messages.toml` stays behind,
because it holds keys, and so do latches and marks: they belong to one machine.
"""

import contextlib
import os
import shutil
import tempfile
import zipfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path, PurePosixPath

from kilnctl.config import home
from kilnctl.errors import ConfigError
from kilnctl.logbook.backup import back_up, restore
from kilnctl.logbook.writer import Logbook

LOGBOOK = "logbook.sqlite"
FOLDERS = ("ovens", "recipes", "steels")
LARGEST, MOST = 1_000_000, 10_000  # bytes of one file that a person has written, and how many there are
SPARE = 100_000_000  # bytes that must be left on the disk: a logbook is being written there
SIGNS = {b"PK\3\4": "folder", b"SQLite format 3\0": "logbook"}

Told = Callable[[float], object]


def kind_of(file: Path) -> str:
    """Return what a file is, by its first bytes: "folder", "logbook" or "run". Raises ConfigError."""
    try:
        if file.exists() and not file.is_file():
            raise ConfigError(f"{file}: is not a file")
        with file.open("rb") as opened:
            first = opened.read(16)
    except OSError as e:
        raise ConfigError(f"{file}: cannot be read: {e.strerror}") from None
    return next((kind for sign, kind in SIGNS.items() if first.startswith(sign)), "run")


def pack(out: Path, told: Told) -> int:
    """Write everything into one file and return how many files beside the logbook. Raises ConfigError."""
    if out.exists():
        raise ConfigError(f"{out}: exists already; a backup overwrites nothing")
    part = out.with_name(f"{out.name}.part")
    try:
        with tempfile.TemporaryDirectory(dir=home.home()) as folder:
            copy, own = Path(folder) / LOGBOOK, list(_own())
            if own and not home.logbook_path().exists():
                Logbook(home.logbook_path()).close()  # a workshop that moves before its first heat
            back_up(home.logbook_path(), copy, told)
            with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as whole:
                whole.write(copy, LOGBOOK)
                for path in own:
                    whole.write(path, f"{path.parent.name}/{path.name}")
        os.replace(part, out)
    except OSError as e:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        raise ConfigError(f"{out}: cannot be written: {e.strerror}") from None
    return len(own)


def _own() -> Iterator[Path]:
    for folder in FOLDERS:
        yield from sorted((home.home() / folder).glob("*.toml"))


def unpack(file: Path, told: Told) -> list[str]:
    """Take over what is not here, and return in lines what was done. Raises ConfigError, RecordError.

    Nothing is overwritten: a file that is here and differs is laid beside it, under a name that is not read.
    """
    try:
        with zipfile.ZipFile(file) as whole, tempfile.TemporaryDirectory(dir=home.home()) as folder:
            _fits(file, whole)
            copy = whole.extract(LOGBOOK, folder)
            with Logbook(home.logbook_path()) as book:
                runs, entries = restore(book, Path(copy), told)
            said = [f"new here and restored: runs {runs}, entries {entries}"]
            return said + [line for name in whole.namelist() if (line := _put(whole, name))]
    except (zipfile.BadZipFile, zlib.error, RuntimeError, KeyError, EOFError) as e:
        raise ConfigError(f"{file}: not a complete copy of a kilnctl folder: {e}") from None
    except OSError as e:
        raise ConfigError(f"{home.home()}: cannot be written: {e.strerror}") from None


def _fits(file: Path, whole: zipfile.ZipFile) -> None:
    """Refuse what would fill the disk. Raises ConfigError, KeyError where no logbook is in it."""
    needs, free = whole.getinfo(LOGBOOK).file_size, shutil.disk_usage(home.home()).free
    if 2 * needs + SPARE > free:  # the copy, and what is taken over from it
        raise ConfigError(
            f"{file}: holds {needs / 1e9:.1f} GB, and {free / 1e9:.1f} GB are free: make room first"
        )
    if len(whole.namelist()) > MOST:
        raise ConfigError(f"{file}: holds more than {MOST} files; that is not a copy of a kilnctl folder")


def _put(whole: zipfile.ZipFile, name: str) -> str:
    """Lay one file into its folder; return what was done, nothing where nothing was."""
    path = PurePosixPath(name)
    named = len(path.parts) == 2 and path.parts[0] in FOLDERS and path.suffix == ".toml"
    odd = path.name.startswith(".") or not name.isprintable()
    if not named or odd or whole.getinfo(name).file_size > LARGEST:
        return ""
    there = home.home() / path.parts[0] / path.name
    data = whole.read(name)
    if there.exists() and there.read_bytes() == data:
        return ""
    there.parent.mkdir(mode=0o700, exist_ok=True)
    if there.exists():
        beside = there.with_name(f"{there.name}.imported")
        _lay(beside, data)
        return f"{name} is here already and differs: saved beside it as {beside.name}"
    _lay(there, data)
    return f"{name} restored"


def _lay(path: Path, data: bytes) -> None:
    """Write a file, whole or not at all: half an oven file would be read as one."""
    part = path.with_name(f".{path.name}.part")
    part.write_bytes(data)
    os.replace(part, path)
