"""Which ovens an `off` must cut: those with a running mark, and those plugged in or driven; or the one named.

Reads of each file no more than its name, ports and isolator, so that nothing heavy is loaded while the
controller is asked; a file that is damaged otherwise still names what is to be cut.
"""

import json
import os
import socket
import threading
import tomllib
from collections.abc import Callable, Collection, Iterable, Iterator
from pathlib import Path
from typing import NamedTuple
from urllib.parse import quote, unquote

from kilnctl.config import home
from kilnctl.config.port_path import host_and_number, is_network, real
from kilnctl.config.simulator_line import gone
from kilnctl.marks import mark_file
from kilnctl.marks.off_stamp import Outlet, outlets_in

LISTENS_S = 0.3  # a board on the same network; one that is off at the wall must not hold up the others
MARK_HEAD = "# kilnctl running "  # the first line of a running mark; the copy of the oven file follows
WATCHES = "watches"  # said in it where nothing here heats that oven (any more)


class OvenInCharge(NamedTuple):
    """One oven file or mark as far as off needs it. `marked`: a heat of it may be open.

    `watched`: its mark is of a recording, or of a heat that ended well and was read back as off.
    """

    name: str
    text: str
    file: str
    at: tuple[Outlet, ...] = ()
    isolator: str = ""
    marked: bool = False
    watched: bool = False

    @property
    def plugged_in(self) -> bool:
        """True when every port of it is there, and not just the stale line of a simulator that was killed."""
        ports = [outlet.port for outlet in self.at]
        return bool(ports) and all(is_there(port) for port in ports)


def looks_at(at: Iterable[Outlet], marked: Iterable[Outlet]) -> bool:
    """Return whether an off at these outlets looks everywhere where a mark says that heat is switched.

    An adapter comes back under another name: where the marked port is not there any more, the same place
    behind another one is meant.
    """
    looked, meant = ({(real(o.port), o.place) for o in some if o.place} for some in (at, marked))
    moved = {place for _, place in meant} == {place for _, place in looked}
    return meant <= looked or (moved and not any(is_there(port) for port, _ in meant))


def is_there(port: str) -> bool:
    """True for a line that is plugged in, and for a network address where somebody listens."""
    return _listens(port) if is_network(port) else os.path.exists(port) and not gone(port)


def _listens(port: str) -> bool:
    try:
        with socket.create_connection(host_and_number(port), LISTENS_S):
            return True
    except (OSError, ValueError):
        return False


def in_charge(
    oven: str | None, driven: Callable[[str], bool] = lambda _port: False
) -> dict[str, OvenInCharge]:
    """Return the ovens that an off of `oven` (None: all) must cut, by name. Never raises.

    `driven` says whether any process drives the device of a port: another home's, whose cable may be out.
    A torn mark says only that its oven may be hot; how to cut it says the oven's own file then. An oven whose
    file cannot be read is in charge too, and one that has nothing left but its hot sign: off cannot ask it,
    and says so.
    """
    if oven is not None and os.path.isfile(oven):
        entry = _read(Path(oven))
        return {entry.name: entry}
    own = {entry.name: entry for entry in _of_folder(home.home() / "ovens")}
    for marked in marks():
        whole = own.get(marked.name)
        own[marked.name] = whole._replace(marked=True) if whole and not marked.text else marked
    own |= {entry.name: entry for entry in _vanished(own)}
    shipped = {entry.name: entry for entry in _of_folder(home.bundled("ovens"))}
    if oven is not None:
        found = shipped | own
        return {name: e for name, e in found.items() if oven in (name, e.file.removesuffix(".toml"))}
    # The ovens that come with the program are everybody's: one may be another home's rehearsal.
    return _to_cut(own, driven) or _to_cut(shipped, driven)


def of_home() -> dict[str, OvenInCharge]:
    """Return the ovens of this home whose file, or the copy of it in a mark, can be read, by name."""
    return {entry.name: entry for entry in (*_of_folder(home.home() / "ovens"), *marks()) if entry.text}


def marks() -> Iterator[OvenInCharge]:
    """Yield the running marks; a torn one by the name of its file."""
    for path in _files(home.home() / "running"):
        entry = _read(path)
        text = entry.text.partition("\n")[2] if entry.text.startswith(MARK_HEAD) else entry.text
        watched = _watches(entry.text)
        its = path.name, entry.at, entry.isolator
        yield OvenInCharge(entry.name, text, *its, marked=not watched, watched=watched)


def _watches(text: str) -> bool:
    """Return whether the first line of a mark says that it is only a recording's."""
    if not text.startswith(MARK_HEAD):
        return False
    try:
        return json.loads(text.partition("\n")[0].removeprefix(MARK_HEAD)).get(WATCHES) is True
    except (ValueError, AttributeError, RecursionError):
        return False


def _vanished(known: Collection[str]) -> Iterator[OvenInCharge]:
    """Yield the ovens that were heated here and of which only the hot sign is left: off cannot ask them."""
    for path in _files(home.home() / "hot", ".json"):
        name = unquote(path.stem)
        if name not in known and not os.path.lexists(home.home() / "running" / f"{path.stem}.ended"):
            yield OvenInCharge(name, "", f"hot/{path.name}", marked=True)


def superseded(mark: OvenInCharge) -> str:
    """Return the path of a mark whose oven's file names another place by now, empty where it does not."""
    path = home.home() / "running" / mark.file
    if not (mark.marked and mark.at and os.path.lexists(path)):
        return ""
    files = (entry for entry in _of_folder(home.home() / "ovens") if entry.name == mark.name and entry.at)
    return str(path) if any(not looks_at(entry.at, mark.at) for entry in files) else ""


def is_marked(oven: str) -> bool:
    """Return whether an oven has a running mark, whatever is in it."""
    return os.path.lexists(home.home() / "running" / f"{quote(oven, safe=' ')}.toml")


def names() -> list[str]:
    """Return the names of all ovens that are known here, those that may be hot first."""
    known = (*marks(), *_of_folder(home.home() / "ovens"), *_of_folder(home.bundled("ovens")))
    return list(dict.fromkeys(entry.name for entry in known))


def _to_cut(ovens: dict[str, OvenInCharge], driven: Callable[[str], bool]) -> dict[str, OvenInCharge]:
    to_cut: dict[str, bool] = {}

    def ask(name: str) -> None:
        its = ovens[name]
        to_cut[name] = its.marked or not its.text or its.plugged_in or any(driven(o.port) for o in its.at)

    # Side by side: each board on a network that is off at the wall costs 0.3 s.
    asked = [threading.Thread(target=ask, args=(name,), daemon=True) for name in ovens]
    for begun in asked:
        begun.start()
    for begun in asked:
        begun.join()
    return {name: entry for name, entry in ovens.items() if to_cut[name]}


def _of_folder(folder: Path) -> Iterator[OvenInCharge]:
    for path in _files(folder):
        yield _read(path)


def _files(folder: Path, kind: str = ".toml") -> list[Path]:
    try:
        return sorted(path for path in folder.iterdir() if path.suffix == kind)
    except OSError:
        return []


def _read(path: Path) -> OvenInCharge:
    stem = unquote(path.stem)
    try:
        text = mark_file.read(path, follow=True).decode("utf-8", errors="replace")
        data = tomllib.loads(text)
    except (OSError, ValueError, RecursionError):
        return OvenInCharge(stem, "", path.name)
    name, isolator = data.get("name"), data.get("isolator")
    return OvenInCharge(
        name if isinstance(name, str) and name else stem,
        text,
        path.name,
        outlets_in(data),
        isolator if isinstance(isolator, str) else "",
    )
