"""Heat off from outside, by every means there is, in the order that `protocol.next_means` says.

Loads nothing heavy as long as a controller answers: an oven file is read whole only where its port is opened.
"""

import os
from collections.abc import Callable, Iterable, Mapping
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

from kilnctl.clock import Clock, RealClock
from kilnctl.config import home
from kilnctl.errors import ConfigError, KilnctlError
from kilnctl.marks import off_stamp, ovens_in_charge, process_identity
from kilnctl.marks.off_means import (
    Means,
    Off,
    Peer,
    exit_code,
    home_must_end,
    isolator_in,
    next_means,
    of_the_device,
    of_this_home,
    places_in,
    told_off,
)
from kilnctl.processes import off_line
from kilnctl.processes.late_off import LateOff
from kilnctl.processes.off_at_ports import OffAtPorts, driven, forget, idle_at, marked_elsewhere
from kilnctl.processes.off_pace import ALARM_S, Pace
from kilnctl.processes.stopping import Stopping

ANSWER_S = 2.5  # the controller gives a tick 1.5 s to end, then reads three times
TELL_S = 0.7  # the command loads in 0.3 s: within a second, and most good offs have ended by then
CONTROLLER = "the controller"
UNREAD = "a heat of {} at {} was not read back as off: plain `kilnctl off` looks there too"
REBUILT = "{}: its oven file names another board now; where the old one is gone for good, take {} away"


class Report(NamedTuple):
    """Which ovens were read back as off, who did it, what stood in the way, and where each is cut by hand.

    `notes` say what did not keep any of them from being off. `code` as the protocol has it: 0 is good.
    `slow` is how long a look takes while it is asked, in s; `reads_off` are ovens that read off with the last
    look and are only asked again; `watched` are silent ovens that nothing heated.
    """

    verified: dict[str, bool]
    by: str
    troubles: tuple[str, ...] = ()
    isolators: Mapping[str, str] = MappingProxyType({})
    notes: tuple[str, ...] = ()
    code: int = 1
    slow: Mapping[str, float] = MappingProxyType({})
    watched: frozenset[str] = frozenset()
    reads_off: frozenset[str] = frozenset()

    @property
    def good(self) -> bool:
        """True when every oven was read back as off and no older start can have missed it."""
        return self.code == 0


Tell = Callable[[Report, bool], object]  # what is known so far, and whether the power must be cut now


def heat_off(oven: str | None, who: str, clock: Clock | None = None, tell: Tell | None = None) -> Report:
    """Cut the heat of one oven or of all; read back.

    `tell` hears, most often from another thread, what is not off yet: after TELL_S that it is still asked,
    and once that power must be cut, after ALARM_S (see `Pace`) or as soon as an oven did not read off.
    Raises ConfigError for a name that nobody knows (nothing was switched then), or without a folder.
    """
    way = OffMeans(oven, who, clock or RealClock())
    late = LateOff(
        TELL_S, ALARM_S, lambda: bool(way.state.left), lambda alarm: tell and tell(*way.told(alarm)),
        lambda: way.pace.latest_s(way.state.left),
    )  # fmt: skip
    try:
        while (means := next_means(way.state)) is not Means.DONE:
            way.go(means)
            if way.state.left & way.refused:
                late.alarm()
    finally:
        late.cancel()
    return way.report()


class OffMeans:
    """One `off` on its way through its means. `refused`: ovens that were asked and did not read off."""

    def __init__(self, oven: str | None, who: str, clock: Clock) -> None:
        self._oven, self._who, self._clock = oven, who, clock
        self._home = home.home()
        self._lock = self._home / "supervisor.lock"
        self._entries = ovens_in_charge.in_charge(oven, driven)
        self._name = next(iter(self._entries), oven) if oven is not None else None
        self._isolators = {name: entry.isolator for name, entry in self._entries.items()}
        self._troubles: list[str] = []
        self._at_ports = OffAtPorts(self._entries, self._clock, self._troubles.append)
        self.notes: tuple[str, ...] = ()
        self.refused: frozenset[str] = frozenset()
        self._by: list[str] = []
        self.pace = Pace(self._clock, self._at_ports)
        self._idle: frozenset[str] = frozenset()  # on a line of our controller, which heats others
        self._acts: dict[Means, Callable[[], Off]] = {
            Means.STAMP: self._stamp,
            Means.ASK_HOME: self._ask_home,
            Means.ASK_DEVICE: self._ask_devices,
            Means.SIGNAL: self._signal,
            Means.PORTS: self._ports,
            Means.BESIDE: self._beside,
        }
        charged = frozenset(self._entries)
        self.state = Off(
            charged,
            named=oven is not None,
            lock_held=process_identity.locked(self._lock),
            drill_held=any(process_identity.locked(lock) for lock in self._drills()),
        )

    def go(self, means: Means) -> None:
        """Use one means; whatever goes wrong with it, the next one follows."""
        try:
            self.state = self._acts[means]()
        except Exception as e:  # no mistake of ours or of an answer may keep the other means from being used
            self._troubles.append(f"{type(e).__name__}: {e}" if not isinstance(e, KilnctlError) else str(e))
        self.state = self.state._replace(used=(*self.state.used, means))

    def so_far(self) -> Report:
        """Return what is known while it is still tried."""
        read = {name: name in self.state.read for name in sorted(self.state.charge)}
        off, looks_s = self.pace.read_off(), self.pace.looks_s()
        return Report(read, "kilnctl", isolators=dict(self._isolators), slow=looks_s, reads_off=off)

    def told(self, alarm: bool) -> tuple[Report, bool]:
        """Return what is told meanwhile. A silent board that was only watched alarms nobody."""
        return self.so_far(), alarm and bool(self.state.left - self._only_watched())

    def _only_watched(self) -> frozenset[str]:
        watched = frozenset(n for n, entry in self._entries.items() if entry.watched)
        return (watched | self._idle) - self.pace.heard()

    def report(self) -> Report:
        """Return what came of it. Raises ConfigError where nobody knows the oven that was named."""
        state = self.state
        if state.named and not state.charge:
            names = ", ".join(ovens_in_charge.names())
            raise ConfigError(
                f'no oven "{self._oven}", nothing was switched; there is: {names}. '
                "Plain `kilnctl off` cuts them all"
            )
        code = exit_code(state)
        troubles = [] if state.good else [*self._troubles]
        if state.good and code:
            troubles = [*self.notes, "a heat that was just starting may not see it: repeat `kilnctl off`"]
        verified = {name: name in state.read for name in sorted(state.charge)}
        if not state.good and state.lock_held and not state.answered and not state.named:
            troubles.append(f"{self._holder()} supervises heats here and did not stop")
        rebuilt = {name: ovens_in_charge.superseded(self._entries[name]) for name in self._entries}
        troubles += [REBUILT.format(n, mark) for n, mark in rebuilt.items() if mark and not verified[n]]
        by = " and ".join(dict.fromkeys(self._by)) or "kilnctl"
        said = tuple(dict.fromkeys(troubles))
        elsewhere = {n: port for n, entry in self._entries.items() if (port := marked_elsewhere(entry))}
        unread = (UNREAD.format(name, port) for name, port in elsewhere.items())
        notes = (*(note for note in self.notes if note not in said), *unread)
        return Report(verified, by, said, self._isolators, notes, code, watched=self._only_watched())

    # --- the means ---

    def _stamp(self) -> Off:
        at = [outlet for entry in self._entries.values() for outlet in entry.at]
        said = off_stamp.leave(self._home, self._name, at, self._who)
        at_devices = [line for line in said if line.startswith(str(off_stamp.MACHINE))]
        self.notes = tuple(said)
        return self.state._replace(home_stamped=len(said) == len(at_devices), devices_stamped=not at_devices)

    def _ask_home(self) -> Off:
        asked = {"oven": self._name, "who": self._who}
        keep: list[object] = []
        told = self._asked(off_line.home_name(self._home), asked, self._is_of_this_home, keep)
        if told is None:
            return self.state
        meant = {name: off for name, off in told.items() if not self.state.named or name == self._name}
        self._stamp_too(keep[0], meant.keys() - self._entries.keys())
        self._idle = idle_at(self._entries, off_line.home_name(self._home)) - meant.keys()
        return self._with(meant, answered=True, by=CONTROLLER)

    def _stamp_too(self, answer: object, ovens: Iterable[str]) -> None:
        """Stamp the devices of ovens that only the controller knows: their files lie elsewhere."""
        places = [(str(key), str(place)) for name in ovens for key, place in places_in(answer, name)]
        said = off_stamp.leave_at(places, self._who)
        self.notes = (*self.notes, *said)
        self.state = self.state._replace(devices_stamped=self.state.devices_stamped and not said)

    def _ask_devices(self) -> Off:
        for port in dict.fromkeys(outlet.port for name in self.state.left for outlet in self._at(name)):
            for key in reversed(off_stamp.keys(port)):  # by the device first: it may be there by another path
                there = {name: outlet.place for name in self.state.left for outlet in self._at(name)[:1]
                         if outlet.port == port}  # fmt: skip
                whole = not self.state.named
                asked = {"at": [[key, "" if whole else place] for place in there.values()], "who": self._who}
                if there:
                    self._ask_device(port, key, there, asked)
        return self.state

    def _ask_device(self, port: str, key: str, there: Mapping[str, str], asked: Mapping[str, Any]) -> None:
        """Ask who drives one device, by whatever name he calls its ovens."""

        def drives(peer: Peer) -> bool:
            found = peer._replace(has_device=process_identity.has_open(peer.pid, port))
            return of_the_device(found, os.getuid()) or any(map(partial(self._is_of, peer), self._locks()))

        answer: list[object] = []
        told = self._asked(off_line.device_name(key), asked, drives, answer) or {}
        for name, place in there.items():
            same = [off for oven, off in told.items() if [key, place] in places_in(answer[0], oven)]
            if same:
                self.state = self._with({name: all(same)}, self.state.answered, "the process that drives it")

    def _asked(
        self,
        line: str,
        asked: Mapping[str, Any],
        believed: Callable[[Peer], bool],
        keep: list[object] | None = None,
    ) -> dict[str, bool] | None:
        """Return oven -> read off as somebody answers; None unless the answer is whole and his to give."""

        def more_s(answer: object, peer: Peer) -> float:
            look_s = self.pace.hears(answer) if believed(peer) else 0.0
            return ANSWER_S + look_s if look_s else 0.0

        self.pace.asks()
        got = off_line.ask(line, {**asked, "so_far": True}, ANSWER_S, more_s)
        self.pace.asks()
        if got is None or not believed(got[1]):
            return None
        if keep is not None:
            keep.append(got[0])
        told = told_off(got[0])
        self._isolators.update({oven: isolator_in(got[0], oven) for oven in told or {}} | self._isolators)
        return told

    def _signal(self) -> Off:
        beside = partial(self._at_ports.beside, self.state.left)
        Stopping(self._lines(), self._clock).stop(self._to_stop(), beside)
        held = self.state.lock_held and process_identity.locked(self._lock)
        return self.state._replace(lock_held=held)

    def _lines(self) -> dict[Path, list[str]]:
        """Return for each lock by which names a process is found that its supervisor has left alone."""
        ports = {name: [outlet.port for outlet in self._at(name)] for name in self.state.charge}
        keys = {name: [key for port in at for key in off_stamp.keys(port)] for name, at in ports.items()}
        drills = {self._home / process_identity.drill_lock(name): at for name, at in keys.items()}
        lines = {lock: [off_line.device_name(key) for key in at] for lock, at in drills.items()}
        return {**lines, self._lock: [off_line.home_name(self._home)]}

    def _to_stop(self) -> list[Path]:
        """Return the locks whose holders are told to stop: those of the ovens that are left."""
        state = self.state
        drills = [drill for drill in self._drills() if not state.named or drill.name == self._drill_of()]
        return [*drills, *([self._lock] if home_must_end(state) else [])]

    def _drills(self) -> list[Path]:
        return sorted(self._home.glob("drill-*.lock"))

    def _drill_of(self) -> str:
        return process_identity.drill_lock(self._name or "")

    def _ports(self) -> Off:
        read = self._at_ports.alone(self.state.left - self._told(), self.state.held)
        self.refused |= {name for name, off in read.items() if not off}
        good = {name: True for name, off in read.items() if off}
        state = self._with(good, self.state.answered, "kilnctl at the port")
        forget(() if state.lock_held else state.read, self._entries)
        return state

    def _told(self) -> frozenset[str]:
        """Return the idle ovens whose line our controller still has: it has sent off to them itself."""
        return frozenset(n for n in self._idle if any(driven(outlet.port) for outlet in self._at(n)))

    def _beside(self) -> Off:
        beside = "off was sent beside another program, which may switch on again"
        sent = self._at_ports.beside(self.state.left - self._told())
        self._troubles += [f"{name}: {beside}" for name in sent if sent[name]]
        return self.state

    # --- what the means share ---

    def _with(self, told: Mapping[str, bool], answered: bool, by: str) -> Off:
        good = frozenset(name for name, off in told.items() if off)
        self.refused |= told.keys() - good
        if good - self.state.read:
            self._by.append(by)
        return self.state._replace(
            charge=self.state.charge | frozenset(told),
            read=self.state.read | good,
            held=self.state.held | (frozenset(told) if by == CONTROLLER else frozenset()),
            answered=answered,
        )

    def _at(self, name: str) -> tuple[off_stamp.Outlet, ...]:
        entry = self._entries.get(name)
        return entry.at if entry is not None else ()

    def _is_of_this_home(self, peer: Peer) -> bool:
        return self._is_of(peer, self._lock)

    def _is_of(self, peer: Peer, lock: Path) -> bool:
        return of_this_home(peer, process_identity.lock_holder(lock), os.getuid())

    def _locks(self) -> list[Path]:
        """Return the locks of this home: a drill that has just let go of its port answers for it too."""
        return [self._lock, *self._drills()]

    def _holder(self) -> str:
        holder = process_identity.lock_holder(self._lock)
        return f"process {holder}" if holder is not None else "another process"
