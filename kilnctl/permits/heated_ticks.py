"""An oven that is looked at and heated a tick at a time, for as long as a test of it lasts."""

from collections.abc import Callable
from typing import Protocol

from kilnctl.clock import Clock
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest, OvenIO
from kilnctl.errors import RunRefused
from kilnctl.heat.heat_state import OFF
from kilnctl.readings import Scan

LOOK_S = 0.2
# An instrument that regulates by itself is asked for so much more than it reads, not for all that it takes:
# when computer and program die with it the oven ends there. A pulse may rise by 150 K; usual proportional
# bands are 10 to 100 K (common practice, no single source), and below them it still gives all it has.
AHEAD_K = 250.0


class Ticks(Protocol):
    """An oven that is looked at and heated a tick at a time, as Bench.tick and Bench.silence describe it."""

    oven: Oven
    clock: Clock

    @property
    def why(self) -> str:
        """What went wrong last on the wire, empty where nothing did."""
        ...

    @property
    def refused(self) -> str:
        """What a device has refused of the heat that was asked for last, empty where it took it."""
        ...

    @property
    def taken(self) -> bool:
        """Whether the heat that was asked for last was taken as it was written."""
        ...

    def tick(
        self,
        heat: bool,
        feed: bool = True,
        watched: bool = True,
        every_s: float | None = None,
        again: bool = False,
    ) -> Scan:
        """Wait for the next tick, look, and heat if asked.

        Without `feed` the dead-man starves; `again` then writes the heater anew for as long as it is on.
        """
        ...

    def silence(self, for_s: float) -> None:
        """Say nothing on any line for this long from now on. Raises RunRefused, the heat off, for an off."""
        ...


def full_heat(oven: Oven, from_c: float) -> HeatRequest:
    """Return the request for full heat for a short while, from a temperature on."""
    setpoint = oven.output.heater.kind == "set-point"
    return HeatRequest(True, 1.0, min(oven.highest_goal_c, round(from_c + AHEAD_K)) if setpoint else None)


def began_at(before_c: float | None, scan: Scan) -> float | None:
    """Return the temperature that the heat is asked from: the first good one; one set-point for all of it."""
    return before_c if before_c is not None or not scan.process.good else scan.process.value


def give(oven_io: OvenIO, request: HeatRequest) -> bool:
    """Ask for heat and feed the dead-man, except where the heat was refused; return whether it was taken."""
    taken = oven_io.drive(request)
    if not getattr(oven_io, "refused", ""):
        oven_io.feed()
    return taken


class Watched:
    """Ticks on I/O that is connected; `go_on` is asked some times a second and says False to end it.

    No interlock looks here: it lasts seconds, and the readings go on. Raises RunRefused when it must end.
    """

    def __init__(self, oven: Oven, oven_io: OvenIO, clock: Clock, go_on: Callable[[], bool]) -> None:
        self.oven, self.clock = oven, clock
        self._oven_io, self._go_on = oven_io, go_on
        self._at_s = clock.now_s()
        self._from_c: float | None = None
        self.taken = False

    @property
    def why(self) -> str:
        """See Ticks."""
        return getattr(self._oven_io, "why", "")

    @property
    def refused(self) -> str:
        """See Ticks."""
        return getattr(self._oven_io, "refused", "")

    def tick(
        self,
        heat: bool,
        feed: bool = True,
        watched: bool = True,
        every_s: float | None = None,
        again: bool = False,
    ) -> Scan:
        """See Ticks; heat is asked for only while the sensor reads."""
        self._wait(self._at_s + (every_s or self.oven.tick_s))
        scan = self._oven_io.scan(self._at_s)
        heat = self._go_on() and heat  # a silent board takes a second for the look and one for off: no hang
        self._from_c = began_at(self._from_c, scan)
        on = full_heat(self.oven, self.oven.ambient_c if self._from_c is None else self._from_c)
        if not (heat and scan.process.good):
            self._oven_io.drive(OFF)
        elif feed:
            self.taken = give(self._oven_io, on)
        elif again and still_on(scan):
            self._oven_io.drive(on)
        return scan

    def silence(self, for_s: float) -> None:
        """Say nothing on any line for this long from now on. Raises RunRefused, the heat off, for an off."""
        self._wait(self.clock.now_s() + for_s)

    def _wait(self, end_s: float) -> None:
        while self._at_s < end_s:
            if not self._go_on():
                self._oven_io.off()
                raise RunRefused("off was asked")
            left_s = max(0.0, end_s - self.clock.now_s())
            self.clock.pause(min(LOOK_S, left_s))
            self._at_s = self.clock.now_s()


def still_on(scan: Scan) -> bool:
    """True while nothing has dropped: then a further write of the heater arms nothing anew."""
    return scan.heat_on is True and scan.contactor_on is not False
