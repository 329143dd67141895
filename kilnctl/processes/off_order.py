"""An order of off in the process that heats: cut now, read back three times in a row, answer for each oven.

Nothing is answered from memory. An oven that is about to start counts too: its port is held already, so only
here can its relay be read.
"""

import contextlib
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from kilnctl.clock import Clock
from kilnctl.config.oven import Oven
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.emergency_off import BETWEEN_S
from kilnctl.devices.oven_io import WiredIO
from kilnctl.errors import ConfigError, RunRefused, cut_short
from kilnctl.marks.off_means import READS
from kilnctl.marks.off_stamp import Outlet, keys, outlets
from kilnctl.marks.oven_identity import identity_of
from kilnctl.marks.ovens_in_charge import of_home
from kilnctl.processes.contrary import why_not_sent
from kilnctl.processes.off_line import OffLine, device_name, holder_of, home_name
from kilnctl.tomlfile import loads

LET_GO_S, LOOK_S = 2.0, 0.1
CUT_S = 1.5  # and a look: a tick that is under way is over by then; what is not cut then is not called off


def off_by(who: object) -> str:
    """Return who ordered off, in one short line whatever he calls himself."""
    return f"off by {cut_short(str(who), 80) if who else 'a person'}"


class HeatedOven(Protocol):
    """An oven that this process may be heating."""

    @property
    def alive(self) -> bool:
        """True while the oven is run or watched."""
        ...

    def off(self, why: str) -> None:
        """Ask for heat off, at once, without waiting."""
        ...

    def wait_cut(self, real_s: float) -> bool:
        """Wait until nothing but off is written any more; return whether it is so."""
        ...

    def read_off(self) -> bool | None:
        """Send off and read it back; None when the oven was left."""
        ...

    def kept(self) -> contextlib.AbstractContextManager[None]:
        """Let nobody leave the oven while it is read."""
        ...

    def look_s(self) -> float | None:
        """Return how long `read_off` takes at the board's pace, None where its last word was not answered."""
        ...


class Starting:
    """An oven on its way to a heat: connected, looked at, and not yet driven."""

    def __init__(self, oven: Oven, buses: Buses, clock: Clock) -> None:
        self._oven, self._buses, self._clock = oven, buses, clock
        self.alive = True

    def off(self, why: str) -> None:
        """Do nothing: the stamp of this off forbids the heat before its first tick."""

    def wait_cut(self, real_s: float) -> bool:
        """Return True: nothing was driven yet, and nothing will be."""
        return True

    def read_off(self) -> bool | None:
        """Send off over the port that this process holds, and read it back."""
        return WiredIO(self._oven, self._buses, self._clock).off() if self.alive else None

    def kept(self) -> contextlib.AbstractContextManager[None]:
        """Do nothing: a start leaves its oven only when it is refused, and that is told."""
        return contextlib.nullcontext()

    def look_s(self) -> float | None:
        """Return None: of a start nothing is known before it was read."""
        return None


class OnHeldLine(Starting):
    """An oven that nothing here heats, on a line that this process holds: only here can its relay be read."""

    def read_off(self) -> bool | None:
        """Send off and read it back; None where nothing answers, which is left to other means of off."""
        with contextlib.suppress(RunRefused):  # its file wants other settings on the line
            oven_io = WiredIO(self._oven, self._buses, self._clock)
            return oven_io.off() or (False if oven_io.heard else None)
        return None

    @contextlib.contextmanager
    def kept(self) -> Iterator[None]:
        """Leave the line to its own oven in the end."""
        try:
            yield
        finally:
            self._buses.give_back(self._oven)


class NotSent(Starting):
    """An oven on a held line whose off would switch the heat of another oven on (see `contrary`)."""

    def read_off(self) -> bool | None:
        """Send nothing, so that nothing is read back."""
        return False


@dataclass(frozen=True, slots=True)
class FoundAt:
    """Where an oven of this process is found from outside, and where it is cut by hand."""

    at: tuple[Outlet, ...]
    isolator: str


class OffOrders:
    """Answers the off line of one process. `ovens` are those that it heats or watches, by name."""

    def __init__(self, ovens: Mapping[str, HeatedOven], buses: Buses, clock: Clock) -> None:
        self._ovens, self._buses, self._clock = ovens, buses, clock
        self._starting: dict[str, Starting] = {}
        self._places: dict[str, FoundAt] = {}
        self._home_name = ""
        self._line: OffLine | None = None

    def listen(self, home: Path | None) -> None:
        """Listen from now on, under the home's name (None: only by the devices, as a drill does).

        Raises RunRefused where somebody else does.
        """
        self._home_name = "" if home is None else home_name(home)
        self._line = OffLine([self._home_name] if self._home_name else [], self.order)

    def close(self) -> None:
        """Stop listening."""
        if self._line is not None:
            self._line.close()

    @contextlib.contextmanager
    def starting(self, oven_file: str, called: str = "oven file") -> Iterator[None]:
        """Hold an oven's device while its heat is prepared. Raises RunRefused where another process does."""
        with self.held(loads(oven_file, Oven, ConfigError, called), outlets(oven_file)):
            yield

    @contextlib.contextmanager
    def held(self, oven: Oven, at: tuple[Outlet, ...]) -> Iterator[None]:
        """Hold an oven's device and answer for it, while nothing heats it. Raises RunRefused as above."""
        self._places[oven.name] = FoundAt(at, oven.isolator)
        for name in self._names([oven.name]):
            if self._line is not None:
                self._line.hold(name)
        self._starting[oven.name] = begun = Starting(oven, self._buses, self._clock)
        try:
            yield
        finally:
            begun.alive = False
            self._starting.pop(oven.name, None)

    @contextlib.contextmanager
    def soon(self, begin: Callable[[], contextlib.AbstractContextManager[None]]) -> Iterator[None]:
        """Hold an oven as `begin` does; who has just let go of it may have its name for a moment more."""
        give_up_s = self._clock.real_s() + LET_GO_S
        with contextlib.ExitStack() as held:
            while True:
                try:
                    held.enter_context(begin())
                    break
                except RunRefused:
                    if self._clock.real_s() > give_up_s:
                        raise
                    self._clock.pause(LOOK_S)
            yield

    def settle(self) -> None:
        """Give back the names of devices that this process has left; take those of plugs that came back."""
        if self._line is None:
            return
        wanted = self._names([*(name for name, held in self._ovens.items() if held.alive), *self._starting])
        for name in self._line.names - wanted - {self._home_name}:
            self._line.let_go(name)
        for name in wanted:
            with contextlib.suppress(RunRefused):
                self._line.hold(name)

    def held_by(self, oven: str) -> str:
        """Return in words who else holds the device of an oven; empty where this process holds it now."""
        if self._line is None:
            return ""
        for name in self._names([oven]):
            try:
                self._line.hold(name)
            except RunRefused:
                return holder_of(name)
        return ""

    def _names(self, ovens: list[str]) -> set[str]:
        at = {outlet.port for name in ovens if name in self._places for outlet in self._places[name].at}
        return {device_name(key) for port in at for key in keys(port)}

    def order(self, asked: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
        """Cut what is asked for and answer, oven by oven, how often in a row it was read off.

        A caller who asked with `so_far` hears at the start, and after each look, how long a look takes and
        how often each was read off.
        """
        mine = self._all()
        found = {name: held for name, held in mine.items() if self._meant(name, asked)}
        self.cut(found, off_by(asked.get("who")))  # first: what follows reads files
        found |= {name: held for name, held in self._beside(mine).items() if self._meant(name, asked)}
        said: dict[str, Any] = {}
        for counts in self.reads(found):
            said = {"ovens": {name: self._answer_of(name, count) for name, count in counts.items()}}
            if asked.get("so_far") is True:
                yield {"more": True, "looks_s": _looks(found), "reads_off": dict(counts)}
        yield said

    def verified(self, ovens: Mapping[str, HeatedOven], why: str) -> dict[str, bool]:
        """Cut these ovens; return which of them were read off as often as it takes."""
        self.cut(ovens, why)
        *_, reads = self.reads(ovens)
        return {name: count >= READS for name, count in reads.items()}

    def cut(self, ovens: Mapping[str, HeatedOven], why: str) -> None:
        """Order off for all of them before anything is waited for."""
        for held in ovens.values():
            held.off(why)

    def reads(self, ovens: Mapping[str, HeatedOven]) -> Iterator[dict[str, int]]:
        """Yield how often in a row each oven was read off, look by look; who has been left is not named."""
        counts = dict.fromkeys(ovens, 0)
        yield counts
        give_up_s = self._clock.real_s() + CUT_S + max([0.0, *_looks(ovens).values()])
        is_cut = {name: held.wait_cut(give_up_s - self._clock.real_s()) for name, held in ovens.items()}
        yield counts
        with contextlib.ExitStack() as kept:
            for held in ovens.values():
                kept.enter_context(held.kept())
            yield from self._read(ovens, is_cut, counts)

    def _read(
        self, ovens: Mapping[str, HeatedOven], is_cut: Mapping[str, bool], counts: dict[str, int]
    ) -> Iterator[dict[str, int]]:
        left, next_s = set(ovens), self._clock.real_s()
        for _ in range(READS):
            if not left:
                break
            self._clock.pause(max(0.0, next_s - self._clock.real_s()))
            next_s = self._clock.real_s() + BETWEEN_S
            for name in sorted(left):
                off = ovens[name].read_off()
                if off and is_cut[name]:
                    counts[name] += 1
                    continue
                left.discard(name)  # so many in a row cannot come any more, and a silent board is slow to ask
                if off is None:
                    counts.pop(name)
            yield counts

    def _all(self) -> dict[str, HeatedOven]:
        alive = {name: held for name, held in self._ovens.items() if held.alive}
        return {**self._starting, **alive}

    def _beside(self, mine: Collection[str]) -> dict[str, HeatedOven]:
        """Return the other ovens of this home all of whose lines this process holds."""
        held = set() if self._line is None else self._line.names
        found: dict[str, HeatedOven] = {}
        among = of_home()
        for name, entry in among.items():
            known = [any(device_name(key) in held for key in keys(outlet.port)) for outlet in entry.at]
            if name in mine or not known or not all(known):
                continue
            with contextlib.suppress(ConfigError):
                oven = loads(entry.text, Oven, ConfigError, entry.file)
                self._places[name] = FoundAt(entry.at, entry.isolator)
                kind = NotSent if why_not_sent(name, among, lambda other: other in mine) else OnHeldLine
                found[name] = kind(oven, self._buses, self._clock)
        return found

    def _meant(self, name: str, asked: Mapping[str, Any]) -> bool:
        at = asked.get("at")
        if isinstance(at, list):
            return any([key, whole] in at for key, place in self._at(name) for whole in (place, ""))
        return asked.get("oven") in (None, name)

    def _at(self, name: str) -> list[tuple[str, str]]:
        place = self._places.get(name)
        return [(key, at.place) for at in (place.at if place else ()) for key in keys(at.port)]

    def _answer_of(self, name: str, reads: int) -> dict[str, Any]:
        place = self._places.get(name)
        return {
            "reads_off": reads,
            "at": [list(found) for found in self._at(name)],
            "isolator": place.isolator if place else "",
        }


def _looks(ovens: Mapping[str, HeatedOven]) -> dict[str, float]:
    """Return how long one look at each oven takes, of those whose boards answer."""
    looks = {name: held.look_s() for name, held in ovens.items()}
    return {name: look_s for name, look_s in looks.items() if look_s is not None}


@contextlib.contextmanager
def answering(oven: Oven, clock: Clock) -> Iterator[Buses]:
    """Answer an off for an oven that a command looks at and never heats: over the buses that this gives.

    Whoever holds a port in any other way leaves `off` nothing but to send beside him, which proves nothing.
    Raises RunRefused where another process drives its device.
    """
    buses = Buses(clock)
    orders = OffOrders({}, buses, clock)
    orders.listen(None)
    try:
        with orders.soon(lambda: orders.held(oven, identity_of(oven).at)):
            yield buses
    finally:
        buses.give_back(oven)
        orders.close()
