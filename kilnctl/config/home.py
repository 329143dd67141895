"""Where things lie: one folder per user (`KILNCTL_HOME` overrides it), and the bundled files."""

import contextlib
import os
from pathlib import Path

from kilnctl.errors import ConfigError, KilnctlError


def home() -> Path:
    """Return the user's kilnctl folder, made on first use and readable by that person alone.

    Raises ConfigError where it cannot be made.
    """
    given = os.environ.get("KILNCTL_HOME")
    folder = Path(given) if given else _data_dir()
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as e:
        raise ConfigError(
            f"{folder}: cannot be made: {e.strerror}; set KILNCTL_HOME to another folder"
        ) from None
    return folder


def own_home() -> Path:
    """Return the folder for a process that heats. Raises ConfigError where anybody else may write to it.

    Only for starts: `off` works in any folder.
    """
    folder = home()
    for path in (folder, *(folder / name for name in ("latches", "running", "hot", "off"))):
        try:
            found = os.stat(path)
        except OSError:
            continue
        others_own = found.st_uid not in (os.getuid(), 0) and os.getuid() != 0
        if found.st_mode & 0o022 or others_own:
            raise ConfigError(
                f"{path}: others may write to it, so latches and marks there prove nothing; "
                f'nothing is heated before "chmod go-w {path}", or under another KILNCTL_HOME'
            )
    return folder


def _data_dir() -> Path:
    import platformdirs  # here and below: heat off must not wait for what only other commands need

    return Path(platformdirs.user_data_dir("kilnctl"))


def logbook_path() -> Path:
    """Return the path of the logbook."""
    return home() / "logbook.sqlite"


def socket_path() -> Path:
    """Return the path of the socket of the running controller (Unix limits it to about 100 characters)."""
    return home() / "controller.socket"


def preferences_path() -> Path:
    """Return the path of what the person prefers; it need not be there."""
    return home() / "preferences.toml"


def latch_dir() -> Path:
    """Return the folder of the latch files, one per oven."""
    return own_folder("latches")


def own_folder(name: str) -> Path:
    """Return a folder of marks, made on first use. Whoever reads or writes in what is none is told then."""
    folder = home() / name
    with contextlib.suppress(OSError):
        folder.mkdir(mode=0o700, exist_ok=True)
    return folder


def bundled(kind: str) -> Path:
    """Return the folder of bundled files: kind is ovens, recipes or steels."""
    import profiles

    return Path(next(iter(profiles.__path__))) / kind


def known(kind: str) -> dict[str, Path]:
    """Return names and paths of all files of a kind; the user's own come before bundled ones."""
    found = {path.stem: path for path in sorted(bundled(kind).glob("*.toml"))}
    found.update({path.stem: path for path in sorted((home() / kind).glob("*.toml"))})
    return found


def find(name: str, kind: str, error: type[KilnctlError]) -> Path:
    """Return the file that a path or a name means. Raises `error`, offering the nearest names."""
    path, there = Path(name), os.path.isfile(name)  # which bears any word, also one too long for a name
    if path.suffix == ".toml" or there:
        if not there:
            raise error(f"{name}: no such file")
        return path
    choices = known(kind)
    if name in choices:
        return choices[name]
    import difflib

    near = difflib.get_close_matches(name, choices, n=3, cutoff=0.4) or sorted(choices)
    raise error(f'no {kind[:-1]} "{name}"; there is: {", ".join(near)}')
