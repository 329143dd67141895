"""Off at the port itself: where nobody answers for an oven its port is opened, or shared with who holds it.

Loads what reads an oven file, and the serial library, only when a port is opened.
"""

from collections.abc import Callable, Collection, Iterable, Mapping
from typing import TYPE_CHECKING, Any

from kilnctl.clock import Clock
from kilnctl.errors import ConfigError, RunRefused
from kilnctl.marks import known_wiring, off_stamp, ovens_in_charge
from kilnctl.marks.off_means import READS
from kilnctl.marks.ovens_in_charge import OvenInCharge
from kilnctl.processes import off_line
from kilnctl.processes.contrary import why_not_sent

if TYPE_CHECKING:
    from kilnctl.config.oven import Oven
    from kilnctl.devices.heat_cutter import HeatCutter

NAME_S = 1.5  # another `off` has read a port by then
LOOK_S = 0.02


class OffAtPorts:
    """Sends off at the ports of the ovens that are in charge; `tell` hears what went wrong."""

    def __init__(
        self, entries: Mapping[str, OvenInCharge], clock: Clock, tell: Callable[[str], None]
    ) -> None:
        self._entries, self._clock, self._tell = entries, clock, tell
        self._cutters: dict[str, HeatCutter] = {}
        self._opening: frozenset[str] = frozenset()
        self._every: list[HeatCutter] = []
        self._not_sent: set[str] = set()
        self.began_s = 0.0

    def looks_s(self) -> dict[str, float]:
        """Return how long each off takes of the ovens that are being sent off and whose boards answer."""
        looks = {name: cutter.look_s() for name, cutter in dict(self._cutters).items()}
        return {name: look_s for name, look_s in looks.items() if look_s is not None}

    def untried(self) -> set[str]:
        """Return the ovens whose port is about to be opened, or whose board has not been heard or missed."""
        cutters = dict(self._cutters)
        return {name for name in self._opening if name not in cutters or cutters[name].untried}

    def _begins(self, cutter: "HeatCutter") -> None:
        self._cutters[cutter.oven.name] = cutter
        self._every.append(cutter)

    def heard(self) -> set[str]:
        """Return the ovens whose boards have answered any word of any off of these, or were not asked any."""
        return self._not_sent | {cutter.oven.name for cutter in list(self._every) if cutter.heard}

    def read_off(self) -> set[str]:
        """Return the ovens that are being sent off and were read back as off with the last look."""
        return {name for name, cutter in dict(self._cutters).items() if cutter.read_off}

    def alone(self, left: Collection[str], held: Collection[str]) -> dict[str, bool]:
        """Hold the ports of these ovens, send off and read back; return oven -> read back as off.

        An oven whose device another holds is left out; `held` are those that a controller answered for,
        whose devices are not waited for.
        """
        ovens = self._ovens(left)
        listeners, taken = self._take(ovens, held)
        self._opening = frozenset(oven.name for oven in ovens if oven.name not in taken)
        try:
            read = self._sent_alone([oven for oven in ovens if oven.name not in taken], left)
            forget((name for name, off in read.items() if off), self._entries)
            return read
        finally:
            for listener in listeners:
                listener.close()

    def _sent_alone(self, ovens: "list[Oven]", left: Collection[str]) -> dict[str, bool]:
        """Send off; once more, with the file read whole, where what was kept of it did not lead to off."""
        read = self._sent(ovens, share=False)
        self._opening = frozenset()
        doubted = {oven.name for oven in ovens if not read[oven.name] and known_wiring.is_kept(oven)}
        again = [oven for oven in self._ovens(left, whole=True) if oven.name in doubted] if doubted else []
        return read | self._sent(again, share=False)

    def beside(self, left: Collection[str]) -> dict[str, bool]:
        """Send off beside whoever holds the port. He may switch on again at once: never "read back"."""
        return self._sent(self._ovens(left, whole=True), share=True)

    def _ovens(self, left: Collection[str], whole: bool = False) -> "list[Oven]":
        """Return the ovens that are left; one that cannot be read is said.

        As they were kept when their files were last read whole, or (also where nothing was kept) read anew.
        One whose off would switch another's heat on is said too, and left out.
        """
        found, among = [], {**ovens_in_charge.of_home(), **self._entries}
        for name in sorted(left):
            if why := why_not_sent(name, among):
                self._not_sent.add(name)
                self._tell(why)
                continue
            entry = self._entries.get(name, OvenInCharge(name, "", name))
            kept = None if whole else known_wiring.recall(name, entry.text)
            try:
                found.append(kept or _read_whole(entry))
            except ConfigError as e:
                self._tell(f"{e}; this oven may be hot")
        return found

    def _take(self, ovens: "list[Oven]", known: Collection[str]) -> tuple[list[Any], set[str]]:
        """Hold the devices' names, so that nobody drives them meanwhile; return also what others hold."""
        listeners: dict[str, Any] = {}
        held: set[str] = set()
        for oven in ovens:
            for key in (key for port in oven.port.values() for key in off_stamp.keys(port.path)):
                if key in listeners:
                    continue
                try:
                    listeners[key] = self._taken(off_line.device_name(key), wait=oven.name not in known)
                except RunRefused as e:
                    held.add(oven.name)
                    self._tell(f"{oven.name}: {e}")
        return list(listeners.values()), held

    def _taken(self, name: str, wait: bool) -> Any:
        """Hold one name; another `off` that reads the same device is waited for. Raises RunRefused."""
        give_up_s = self._clock.real_s() + (NAME_S if wait else 0.0)
        while True:
            try:
                return off_line.hold_name(name)
            except RunRefused:
                if self._clock.real_s() >= give_up_s:
                    raise
                self._clock.pause(LOOK_S)

    def _sent(self, ovens: "list[Oven]", share: bool) -> dict[str, bool]:
        from kilnctl.devices.emergency_off import off_all

        if not ovens:
            return {}
        self.began_s = self._clock.real_s()
        try:
            return off_all(
                ovens, self._clock, share, self._tell, READS,
                began=self._begins,
            )  # fmt: skip
        finally:
            self._cutters.clear()


def _read_whole(entry: OvenInCharge) -> "Oven":
    """Return an oven with every check of its file, and keep it for the next off. Raises ConfigError."""
    from kilnctl.config.oven import Oven
    from kilnctl.tomlfile import loads

    if entry.file.startswith("hot/"):
        raise ConfigError(f"{entry.name}: it was heated, and neither its oven file nor its mark is left")
    if not entry.text:
        raise ConfigError(
            f"{entry.file}: no oven can be read from it; correct it, or take it out of its folder"
        )
    oven = loads(entry.text, Oven, ConfigError, entry.file)
    known_wiring.keep(oven, entry.text)
    return oven


def driven(port: str) -> bool:
    """Return whether somebody drives the device of a path, though its cable may be out."""
    return any(off_line.peer_at(off_line.device_name(key)) for key in off_stamp.keys(port))


def forget(ovens: Iterable[str], entries: Mapping[str, OvenInCharge]) -> None:
    """These were read off, and nobody drives them: no heat of theirs is open any more.

    Where somebody supervises here, only while their devices' names are held: no heat of theirs begins then,
    and a living process that a mark names has left them. A mark of another place (its oven's file was
    changed) stays: nobody has looked there.
    """
    marked = [name for name in ovens if ovens_in_charge.is_marked(name)]
    if not marked:
        return
    from kilnctl.marks import running_ovens  # late: most often no mark stands

    for name in marked:
        if name not in entries or not marked_elsewhere(entries[name]):
            running_ovens.clear(name)


def marked_elsewhere(entry: OvenInCharge) -> str:
    """Return the port where a mark says that this oven was heated, empty where an off of it looks there."""
    of_it = (mark for mark in ovens_in_charge.marks() if mark.name == entry.name)
    return next((m.at[0].port for m in of_it if not ovens_in_charge.looks_at(entry.at, m.at)), "")


def idle_at(entries: Mapping[str, OvenInCharge], name: str) -> frozenset[str]:
    """Return the ovens that no heat has left on, all of whose lines the holder of a name has for others."""
    holder = off_line.peer_at(name)

    def held(port: str) -> bool:
        peers = (off_line.peer_at(off_line.device_name(key)) for key in off_stamp.keys(port))
        return holder is not None and any(peer is not None and peer.pid == holder.pid for peer in peers)

    unmarked = {name: entry.at for name, entry in entries.items() if entry.at and not entry.marked}
    return frozenset(name for name, at in unmarked.items() if all(held(outlet.port) for outlet in at))
