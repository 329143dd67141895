"""The project's own off stamps over the disk of a state: only the looks at the disk are exchanged."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from unittest.mock import patch

from explorer.world import Cut, Start, World

from kilnctl.marks import off_stamp

_looks: dict[str, int] = {}
_boot = "0"
_wanted: list[str] = []


def home_of(number: int) -> Path:
    """Return the folder of a home."""
    return Path(f"/home-{number}")


def outlets(ovens: tuple[int, ...]) -> tuple[Any, ...]:
    """Return where these ovens are switched: each has a port of its own."""
    return tuple(off_stamp.Outlet(str(oven), "1-coil-0") for oven in ovens)


@contextmanager
def on_the_disk_of_a_state() -> Iterator[None]:
    """Exchange the looks at the disk; everything that decides stays the project's own."""

    def folder(path: Path) -> Iterator[tuple[str, str]]:
        for one in list(_looks):
            if Path(one).parent == path:
                yield Path(one).name, str(_looks[one])

    def stamp(path: Path, name: str, _words: str, _mode: int) -> str:
        _wanted.append(str(path / name))
        return ""

    with (
        patch.object(
            off_stamp, "_state_of", lambda path: str(_looks[str(path)]) if str(path) in _looks else ""
        ),
        patch.object(off_stamp, "_folder", folder),
        patch.object(off_stamp, "_stamp", stamp),
        patch.object(off_stamp, "_words", lambda _path: "off was asked"),
        patch.object(off_stamp, "keys", lambda port: (f"path-{port}", f"device-{port}")),
        patch.object(off_stamp, "machine_start", lambda: _boot),
    ):
        yield


def _show(world: World) -> None:
    global _boot
    _looks.clear()
    _looks.update(world.stamps)
    _boot = str(world.boot)


def seen(world: World, home: int) -> tuple[tuple[str, str], ...]:
    """Return the token that a start takes now."""
    _show(world)
    return tuple(sorted(off_stamp.stamps_now(home_of(home)).items()))


def off_since(world: World, start: Start) -> str | None:
    """Return which off came since a start, as the project's own function says."""
    _show(world)
    home = home_of(start.home)
    return off_stamp.off_since(dict(start.token), home, str(start.oven), outlets((start.oven,)))


def to_leave(world: World, cut: Cut) -> tuple[str, ...]:
    """Return which stamps an off leaves."""
    _show(world)
    _wanted.clear()
    oven = None if cut.oven is None else str(cut.oven)
    off_stamp.leave(home_of(cut.home), oven, outlets(cut.ovens), "the explorer")
    return tuple(_wanted)


def left(world: World, path: str) -> World:
    """Return the world after a stamp was left: it looks different from ever before."""
    stamps = dict(world.stamps)
    stamps[path] = max([*stamps.values(), 0]) + 1
    return world._replace(stamps=tuple(sorted(stamps.items())))


def gone(world: World, path: str) -> World:
    """Return the world without a stamp."""
    return world._replace(stamps=tuple(item for item in world.stamps if item[0] != path))
