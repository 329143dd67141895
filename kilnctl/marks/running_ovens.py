"""Which ovens may be hot: one copy of the oven file per running oven, on disk before heat.

A copy, not a path: who edits, moves or deletes his oven file during a heat must not take the way to its
off from the supervisor. Its first line, a comment, names the process that heats and proves the copy whole. A
mark whose process is dead belongs to a heat that nobody has verified as off. A heat that was read back as off
turns its mark into `NAME.ended`: a mark that is simply gone makes no supervisor forget the oven. A recording
has one too, so that `off` finds its oven; it says so, and what only watched has left nothing to be cut.
"""

import contextlib
import hashlib
import json
import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote, unquote

from kilnctl.config import home
from kilnctl.errors import ConfigError, RecordError
from kilnctl.marks import mark_file
from kilnctl.marks.oven_identity import identity_of
from kilnctl.marks.ovens_in_charge import MARK_HEAD, WATCHES
from kilnctl.marks.process_identity import Owner, owner_of

if TYPE_CHECKING:
    from kilnctl.config.oven import Oven


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark as read. `oven` is None where it is torn; `owner` is who heats, None where nobody is named.

    `heats` is False for a recording that has not seen the heat on, and once a heat that ended well reads off.
    """

    name: str
    oven: "Oven | None" = None
    owner: Owner | None = None
    id: str = ""
    heats: bool = True

    @property
    def torn(self) -> bool:
        """True when it cannot be read whole: the oven may be hot, and this does not say how to cut it."""
        return self.oven is None

    @property
    def lives(self) -> bool:
        """True while the process that it names runs."""
        return self.owner is not None and self.owner.lives


def folder() -> Path:
    """Return the folder of the marks."""
    return home.own_folder("running")


def mark(oven: str, text: str, heats: bool = True) -> None:
    """Keep a copy of an oven file, durable when this returns, in the name of this process.

    A recording does not take the place of an earlier heat, which nobody has read back as off.
    Raises RecordError; then nothing may heat: also where an earlier mark of the oven cannot be read.
    """
    from kilnctl.marks import durable_write, latch  # late: an off only takes marks away

    try:
        before = _read(_path(oven)) if _path(oven).exists() else None
        if before is not None and before.torn:
            raise RecordError(
                f"{_path(oven)}: the mark of an earlier heat cannot be read, the oven may be hot: cut its "
                f"power and look, then `kilnctl off --oven {oven}`"
            )
        if before is not None and before.heats and not heats:
            return
        latch.reserve(oven)  # the room for a trip, before anything is hot
        durable_write.write(_path(oven), _marked(text, heats, os.urandom(8).hex()))
    except OSError as e:
        raise RecordError(f"{e.filename}: cannot be written: {e.strerror}; nothing was heated") from None


def turn(oven: str, text: str, heats: bool) -> None:
    """Say in the mark of this process that its oven is only watched from now on, or may heat. Never raises.

    It stays the same mark, so that who holds it knows when it has ended.
    """
    from kilnctl.marks import durable_write

    with contextlib.suppress(OSError, ValueError, TypeError, KeyError, RecursionError, ConfigError):
        owner, id_, _, marked = _headed(mark_file.text(_path(oven)))
        if owner == owner_of(os.getpid()) and marked == text:  # else of an earlier heat, perhaps elsewhere
            durable_write.write(_path(oven), _marked(text, heats, id_))


def _marked(text: str, heats: bool, id_: str) -> str:
    me = owner_of(os.getpid())
    said = {"id": id_, "pid": me.pid, "started": me.started, "boot": me.boot}
    said |= {} if heats else {WATCHES: True}
    return f"{MARK_HEAD}{json.dumps({**said, 'check': _check(text)})}\n{text}"


def clear(oven: str, only: str | None = None) -> None:
    """Forget an oven whose heat was read back as off (`only`: by this mark of it, no later one).

    Never raises: a mark too many only costs an off. Needs no room on a full disk.
    """
    with contextlib.suppress(OSError, ConfigError):
        path = _path(oven)
        if only is None or _id(path) == only:
            path.replace(_ended(oven))


def clear_at(oven: "Oven") -> None:
    """Forget an oven that was read back as off where its file says that it heats. Never raises.

    A torn mark stays, and one of another place: what heats there is not off because this file was changed.
    """
    with contextlib.suppress(OSError, ConfigError):
        found = of(oven.name)
        if found is not None and found.oven is not None and identity_of(found.oven).within(identity_of(oven)):
            clear(oven.name, found.id)


def ended(oven: str) -> str:
    """Return the id of the mark by which an oven was last forgotten, empty where none is known."""
    return _id(_ended(oven))


def names() -> list[str]:
    """Return the names of the ovens that have a mark, readable or not. Loads nothing heavy."""
    return list(ids())


def ids() -> dict[str, str]:
    """Return name and id of every mark, the id empty where it cannot be read. Loads nothing heavy."""
    return {unquote(path.stem): _id(path) for path in sorted(folder().glob("*.toml"))}


def heating() -> dict[str, str]:
    """Return `ids` without the marks of recordings. Loads nothing heavy."""
    return {name: id_ for name, id_ in ids().items() if not is_watched(name)}


def is_watched(oven: str) -> bool:
    """Return whether an oven has a whole mark, and only a recording's. Loads nothing heavy."""
    with contextlib.suppress(OSError, ValueError, TypeError, KeyError, RecursionError, ConfigError):
        return not _headed(mark_file.text(_path(oven)))[2]
    return False


def _id(path: Path) -> str:
    try:
        return _headed(mark_file.text(path))[1]
    except (OSError, ValueError, TypeError, KeyError, RecursionError, ConfigError):
        return ""


def marks() -> list[Mark]:
    """Return every mark, torn ones too. Raises OSError or ConfigError where the folder cannot be read."""
    return [_read(path) for path in sorted(folder().glob("*.toml"))]


def of(oven: str) -> Mark | None:
    """Return the mark of an oven, torn or whole, None where there is none."""
    return _read(_path(oven)) if os.path.lexists(_path(oven)) else None


def orphaned(oven: str) -> bool:
    """Return whether an oven has a whole mark, and nobody living heats it. Loads nothing heavy."""
    with contextlib.suppress(OSError, ValueError, TypeError, KeyError, RecursionError, ConfigError):
        owner = _headed(mark_file.text(_path(oven)))[0]
        return owner is None or not owner.lives
    return False


def marked() -> "list[Oven]":
    """Return the ovens that have a mark; a torn one is left out."""
    return [found.oven for found in marks() if found.oven is not None]


def _read(path: Path) -> Mark:
    from kilnctl.config.oven import Oven  # late: who only asks for names does without pydantic
    from kilnctl.tomlfile import loads

    try:
        owner, id_, heats, text = _headed(mark_file.text(path))
        oven = loads(text, Oven, ConfigError, "running mark")
    except (OSError, ValueError, TypeError, KeyError, RecursionError, ConfigError):
        return Mark(unquote(path.stem))
    return Mark(oven.name, oven, owner, id_, heats)


def _headed(text: str) -> tuple[Owner | None, str, bool, str]:
    """Return owner and id that a mark names, whether it heats, and the copy of the oven file.

    Raises ValueError for a torn one.

    A copy without a first line of ours names nobody.
    """
    if not text.startswith(MARK_HEAD):
        return None, "", True, text
    head, _, text = text.partition("\n")
    said = json.loads(head.removeprefix(MARK_HEAD))
    if said["check"] != _check(text):
        raise ValueError("torn")
    owner = Owner(int(said["pid"]), int(said["started"]), str(said["boot"]))
    return owner, str(said["id"]), said.get(WATCHES) is not True, text


def _check(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _path(oven: str) -> Path:
    return folder() / f"{quote(oven, safe=' ')}.toml"


def _ended(oven: str) -> Path:
    return folder() / f"{quote(oven, safe=' ')}.ended"
