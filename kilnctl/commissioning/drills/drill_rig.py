"""One oven on the bench: its I/O, watched by its interlocks, a tick at a time; neighbours are looked at."""

import threading
from collections.abc import Callable, Mapping

from kilnctl.clock import Clock
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest, OvenIO
from kilnctl.errors import RunRefused
from kilnctl.heat.heat_state import OFF
from kilnctl.interlocks import Interlock, Thresholds, build, with_subject
from kilnctl.interlocks.contract import live
from kilnctl.model.observer import Observer
from kilnctl.model.oven_model import OvenModel
from kilnctl.permits.heated_ticks import began_at, full_heat, give, still_on
from kilnctl.readings import Observation, Reaction, Scan, Trip

TELL_S = 30.0
SLICE_S = 0.25
# Noise, a hand or the sun move a sensor less within a minute or two.
ISOLATED_RISE_K = 5.0
NOT_ISOLATED = (
    "the oven is heating ({:.1f} K more): its heater was to be isolated and is not. Switch the isolator off "
    "or pull the plug, let it cool, then do this step again"
)
REFUSALS = 3  # in a row, and a drill that heats ends: the board has answered each time
NEVER = threading.Event()


class HeatRefused(RunRefused):
    """A device goes on refusing the heat that a drill needs; the heat is off."""


def _silent(_line: str) -> None:
    """Nobody listens."""


class DrillRig:
    """One oven on the bench. Heat is given only in `tick`, and never after an interlock has spoken.

    `neighbours` are the I/O of other ovens, only looked at. `without` names interlocks that a drill is
    there to provoke or judges itself; `isolated` says that its heat must warm nothing; `once` that an output
    which was not seen on again, or not heard, gets nothing but off from then on (`over`). `dark`: each
    look so far has read the output off, and no power at the element. `tell` gets lines for the person beside
    the oven. `go_on` is asked some times a second and says False to end the drill.
    """

    def __init__(
        self,
        oven: Oven,
        oven_io: OvenIO,
        clock: Clock,
        *,
        model: OvenModel | None = None,
        neighbours: Mapping[str, OvenIO] | None = None,
        tell: Callable[[str], object] = _silent,
        go_on: Callable[[], bool] = lambda: True,
    ) -> None:
        self.oven, self.oven_io, self.clock, self.model = oven, oven_io, clock, model
        self.neighbours, self.tell, self._go_on = dict(neighbours or {}), tell, go_on
        self.trip: Trip | None = None
        self.without: tuple[str, ...] = ()
        self.isolated = self.once = self.over = self.taken = False
        self.dark = True
        self._refusals = 0
        self._first_c: float | None = None
        self._from_c: float | None = None
        self._interlocks: tuple[Interlock, ...] = build(oven, Thresholds.of(oven, model))
        self._observer = None if model is None else Observer(model)
        self._asked = self._was_on = False
        self._deadline_s = self._at_s = clock.now_s()
        self._told_s = self._at_s

    @property
    def why(self) -> str:
        """See Ticks."""
        return getattr(self.oven_io, "why", "")

    @property
    def refused(self) -> str:
        """See Ticks."""
        return getattr(self.oven_io, "refused", "")

    @property
    def on(self) -> HeatRequest:
        """Return the request for full heat."""
        return full_heat(self.oven, self.oven.ambient_c if self._from_c is None else self._from_c)

    def tick(
        self,
        heat: bool,
        feed: bool = True,
        watched: bool = True,
        every_s: float | None = None,
        again: bool = False,
        hold: bool = False,
    ) -> Scan:
        """Wait for the next tick, look, judge, and heat if asked and nothing has tripped.

        Without `feed` the dead-man starves; `again` then writes the heater anew for as long as it is on;
        `watched` is false where the drill provokes what trips; `every_s` makes the tick shorter than the
        oven's; `hold` keeps dead-man and contactor up without heat, so that a welded relay shows.
        """
        self._deadline_s = max(self._deadline_s, self._at_s) + (every_s or self.oven.tick_s)
        self._wait()
        now_s = self.clock.now_s()
        dt_s, self._at_s = now_s - self._at_s, now_s
        scan = self.oven_io.scan(now_s)
        self.dark &= scan.heat_on is False and not live(scan)
        heat = self._go_on() and heat  # a silent board takes a second for the look and one for off: no hang
        self._from_c = began_at(self._from_c, scan)
        if self._observer is not None and scan.process.value is not None:
            share, room_c = float(self._asked), self.oven.ambient_c
            self._observer.step(scan.process.value, share, room_c, dt_s, scan.door_open is True)
        if self.isolated and scan.process.value is not None:
            self._insist_on_the_isolator(scan.process.value)
        if watched and self.trip is None:
            self._judge(scan, dt_s)
        on = still_on(scan) and scan.process.good
        gone = (self._was_on and not on) or (self._asked and scan.heat_on is None)
        self.over, self._was_on = self.over or (self.once and gone), on
        self._asked = heat and self.trip is None and scan.process.good and not self.over
        if not self._asked:
            self.oven_io.drive(OFF)
            if hold and self.trip is None:
                self.oven_io.feed()
        elif feed:
            self.taken = give(self.oven_io, self.on)
            self._insist_on_an_answer(watched)
        elif again and still_on(scan):
            self.oven_io.drive(self.on)
        return scan

    def silence(self, for_s: float) -> None:
        """Say nothing on any line for this long from now on, whatever the output is doing."""
        self._deadline_s = self.clock.now_s() + for_s
        self._wait()

    def _wait(self) -> None:
        """Wait for the next tick, a little at a time. Raises RunRefused when the drill must end."""
        while self._go_on():
            now_s = self.clock.now_s()
            if now_s >= self._deadline_s:
                return
            self.clock.wait_until(min(self._deadline_s, now_s + SLICE_S), NEVER)
        self.oven_io.off()
        raise RunRefused("the drill was ended")

    def _insist_on_an_answer(self, watched: bool) -> None:
        """Raise HeatRefused, the heat off, where a device goes on refusing the heat that a drill needs."""
        self._refusals = self._refusals + 1 if self.refused else 0
        if watched and self._refusals >= REFUSALS:
            self.oven_io.off()
            raise HeatRefused(f"no heat: {self.refused}")

    def _insist_on_the_isolator(self, process_c: float) -> None:
        """Raise RunRefused, the heat off, where the oven warms up though its heater is isolated."""
        self._first_c = process_c if self._first_c is None else min(self._first_c, process_c)
        if process_c - self._first_c >= ISOLATED_RISE_K:
            self.oven_io.off()
            raise RunRefused(NOT_ISOLATED.format(process_c - self._first_c))

    def heat_to(self, goal_c: float, at_most_s: float, enough: Callable[[Scan], bool]) -> Scan | None:
        """Heat to a temperature and hold it there by on and off, telling how it goes, until `enough`.

        Returns the scan with which it was enough; None after `at_most_s` or a trip (see `trip`).
        """
        start_s = self.clock.now_s()
        scan = self.tick(heat=self._asked)  # what goes on goes on
        while self.clock.now_s() - start_s < at_most_s and self.trip is None:
            process_c = scan.process.value
            scan = self.tick(heat=process_c is not None and process_c < goal_c)
            if enough(scan):
                return scan
            self.tell_now_and_then(scan)
        return None

    def tell_now_and_then(self, scan: Scan) -> None:
        """Tell the temperature, twice a minute."""
        if self._at_s - self._told_s >= TELL_S and scan.process.value is not None:
            self._told_s = self._at_s
            self.tell(f"now {scan.process.value:.0f} °C")

    def _judge(self, scan: Scan, dt_s: float) -> None:
        seen = Observation(
            scan=scan,
            at_s=scan.at_s,
            dt_s=dt_s,
            real_dt_s=dt_s,
            late_s=0.0,
            heating_allowed=True,
            heat_asked=self._asked,
            duty_asked=float(self._asked),
            setpoint_c=self.oven.limit_c if self._asked else None,
            segment_kind="ramp",
            run_max_c=None,
            limit_c=self.oven.limit_c,
            ambient_c=self.oven.ambient_c,
            others={},
            unexplained=None if self._observer is None else self._observer.unexplained,
        )
        for interlock in self._interlocks:
            verdict = interlock.check(seen)
            if not isinstance(verdict, Trip) or verdict.reaction is Reaction.NOTIFY:
                continue
            if verdict.kind not in self.without:
                self.trip = with_subject(verdict)
                return
