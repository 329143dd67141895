"""Does the board drop the heat by itself? Measured at the set-up, and before each heat that is left alone."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from kilnctl.clock import Clock
from kilnctl.config.abilities import DEAD_MAN_S, holds_for_s
from kilnctl.config.device_keys import LineDevice
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest, OvenIO
from kilnctl.errors import RunRefused
from kilnctl.heat.heat_state import OFF
from kilnctl.interlocks.contract import live
from kilnctl.readings import Quality, Scan

CLOCK_SHARE = 1.1  # a board's clock is not ours
LOOK_S, LATE_LOOK_S = 0.2, 0.5
BLIND_S = 3.0  # between the last look that saw it on and the first that saw it off
# An instrument that regulates by itself is asked for the limit less this much: full heat for a short while.
BELOW_LIMIT_K = 10.0
NO_READING = "no heat, because signal.process gives no reading: {}. The cold check tells how to mend it"
NO_POWER = "; or output.heater is not the place that heats: it reads on, and the element has no power"
ARMED = (
    '. Where its list says "arm", "enable" or "start" of the watchdog, or gives its time in a register that '
    "is 0 after power-up, write that one as arm, or as dead_man where each writing starts the time again"
)
RE_ARMED = '; where its list says "latch", "re-arm" or "reset" of the watchdog, write that one as arm'
SLOWER = (
    ". Set the board's time shorter; or, where its list gives a longer one of at most "
    f"{DEAD_MAN_S:g} s, write that as drops_after"
)
NO_PLACE = "; it has no such place: look in its list for the right one, and whether that list counts from 1"
TOO_LONG = (
    ". The file says that it holds for {:g} s, and {:g} s pass: set the board's time, or its timer's, "
    "shorter; where that cannot be, put a timer relay of a shorter time behind it"
)
CHANGES = '"must change", write = 1, then = 0; "one more each time", counts_to'


@dataclass(frozen=True, slots=True)
class Finding:
    """What a drill found: passed or not, the value that is stored, and a line for a person.

    `any_traffic`: readings alone keep a board's output on.
    """

    passed: bool
    value: float | None
    line: str
    any_traffic: bool = False


class Ticks(Protocol):
    """An oven that is looked at and heated a tick at a time, as Bench.tick and Bench.silence describe it."""

    oven: Oven
    clock: Clock

    @property
    def why(self) -> str:
        """What went wrong last on the wire, empty where nothing did."""
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


def full_heat(oven: Oven) -> HeatRequest:
    """Return the request for full heat."""
    setpoint = oven.output.heater.kind == "set-point"
    return HeatRequest(True, 1.0, oven.limit_c - BELOW_LIMIT_K if setpoint else None)


class Watched:
    """Ticks on I/O that is connected; `go_on` is asked some times a second and says False to end it.

    No interlock looks here: it lasts seconds, and the readings go on. Raises RunRefused when it must end.
    """

    def __init__(self, oven: Oven, oven_io: OvenIO, clock: Clock, go_on: Callable[[], bool]) -> None:
        self.oven, self.clock = oven, clock
        self._oven_io, self._go_on = oven_io, go_on
        self._at_s = clock.now_s()

    @property
    def why(self) -> str:
        """See Ticks."""
        return getattr(self._oven_io, "why", "")

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
        if not (heat and scan.process.good):
            self._oven_io.drive(OFF)
        elif feed:
            self._oven_io.drive(full_heat(self.oven))
            self._oven_io.feed()
        elif again and still_on(scan):
            self._oven_io.drive(full_heat(self.oven))
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


def dead_man(bench: Ticks) -> Finding:
    """Switch on, stop feeding the dead-man, and measure how long the output holds.

    First with the readings going on; where these keep the output on, once more in silence. A line board
    promises that nothing but FED keeps it on, so there the heater is written anew in every look too.
    """
    line_board = on_a_line_board(bench.oven)
    for _ in range(4):
        scan = bench.tick(heat=True, watched=False)
    if not scan.process.good:
        return Finding(False, None, NO_READING.format(scan.process.why or scan.process.quality))
    if not seen_on(bench.oven, scan):
        return _never_on(bench)
    start_s, limit_s = bench.clock.now_s(), longest_s(bench.oven)
    most_s, seen_on_s = min(DEAD_MAN_S, CLOCK_SHARE * limit_s) + LATE_LOOK_S, 0.0
    while seen_on_s <= DEAD_MAN_S + 2.0:
        scan = bench.tick(heat=True, feed=False, watched=False, every_s=LOOK_S, again=line_board)
        held_s = bench.clock.now_s() - start_s
        if seen_on(bench.oven, scan) is False:
            if seen_on_s < bench.oven.tick_s:
                return _sooner_than_a_tick(bench.oven, held_s)
            said = f"the output dropped by itself after {held_s:.1f} s without a write; readings go on"
            in_time = seen_on_s <= most_s and held_s <= most_s + BLIND_S
            cure = "" if in_time else SLOWER
            return Finding(in_time, held_s, f"{said}; {limit_s:g} s were expected{cure}")
        if not scan.process.good or seen_on(bench.oven, scan) is None:
            silent = scan.process.quality is Quality.NO_REPLY and seen_on_s >= bench.oven.tick_s
            return _restarting(bench, limit_s, scan) if silent else spoilt(scan)
        seen_on_s = held_s
    if line_board:
        said = (
            f"still on {seen_on_s:.0f} s after the last FED: this firmware lets SEE or PUT keep the heat on"
        )
        return Finding(False, None, f"{said}, or never drops it; no live heat")
    return _in_silence(bench, limit_s)


def _never_on(bench: Ticks) -> Finding:
    """Say why no tick has seen the output on: a quicker look shows one that drops between two ticks."""
    why = f": {bench.why}" if bench.why else ""
    for _ in range(3):
        scan = bench.tick(heat=True, watched=False, every_s=LOOK_S)
    if seen_on(bench.oven, scan):
        return _sooner_than_a_tick(bench.oven, 0.0)
    if "refuses" in why and bench.oven.output.heater.kind == "duty":
        mode = (
            "an instrument takes a power only in its mode manual or remote: let the dead-man write that mode"
        )
        why = f"{why}; {mode}"
    elif not why and _writes_one_number(bench.oven):
        why = f". Where the board's list says of the watchdog: {CHANGES}"
    if "refuses" in why and not bench.oven.arm and "mode" not in why:
        why += NO_PLACE if "illegal data address" in why else RE_ARMED
    return Finding(False, None, f"the output did not come on{why}")


def _sooner_than_a_tick(oven: Oven, held_s: float) -> Finding:
    """Say that it was not seen on for a whole tick; `held_s` is when it was first seen off.

    On a busy machine the looks come late: then nobody knows how long it held.
    """
    tick_s = oven.tick_s
    if held_s > tick_s + LATE_LOOK_S:
        return Finding(
            False, None, f"no reading came for {held_s:.1f} s: this machine is too busy; do it again"
        )
    said = f"the output came on and dropped by itself within {tick_s:g} s, sooner than it is fed"
    cure = f"set the board's time longer, up to {DEAD_MAN_S:.0f} s"
    if _writes_one_number(oven):
        cure = f"{cure}; where its list says of the watchdog: {CHANGES}"
    return Finding(False, None, f"{said}: {cure}")


def _writes_one_number(oven: Oven) -> bool:
    dead_man = oven.dead_man
    return (
        dead_man is not None
        and dead_man.then is None
        and dead_man.counts_to is None
        and not on_a_line_board(oven)
    )


def spoilt(scan: Scan) -> Finding:
    """Return that a reading failed, and who saw to that: the board has dropped nothing by itself.

    For a bad sensor off was sent. An output that is not heard may have lost its port, and what opens that
    again restarts many a board.
    """
    cut = "and off was sent for it"
    said = (
        f"({scan.process.quality}), {cut}"
        if not scan.process.good
        else "(the output did not answer, or was off)"
    )
    first = (
        "do the cold check first, then this"
        if scan.process.quality is Quality.OUT_OF_RANGE
        else "do it again"
    )
    return Finding(False, None, f"a reading failed meanwhile {said}: the dead-man is not proved; {first}")


def seen_on(oven: Oven, scan: Scan) -> bool | None:
    """Return whether the heat is on where the dead-man acts."""
    return live(scan) if oven.drops_at_the_element else scan.heat_on


def on_a_line_board(oven: Oven) -> bool:
    """True where the dead-man is one of the line protocol, fed by FED alone."""
    return oven.dead_man is not None and isinstance(oven.device[oven.dead_man.device], LineDevice)


def still_on(scan: Scan) -> bool:
    """True while nothing has dropped: then a further write of the heater arms nothing anew."""
    return scan.heat_on is True and scan.contactor_on is not False


def longest_s(oven: Oven) -> float:
    """Return how long an output may hold at most: 10 s, or less where the oven file says less."""
    return min(DEAD_MAN_S, holds_for_s(oven) or DEAD_MAN_S)


def _restarting(bench: Ticks, limit_s: float, silent: Scan) -> Finding:
    """Prove a board that falls silent as it drops the heat, as one does whose watchdog restarts it.

    What it did before proves nothing, because off was sent for the reading that failed: once more with
    nothing sent at all, for as long as it holds and then was silent.
    """
    began_s, scan = bench.clock.now_s(), silent
    while not scan.process.good and bench.clock.now_s() - began_s <= DEAD_MAN_S:
        scan = bench.tick(heat=False, watched=False, every_s=LOOK_S)
    quiet_s = limit_s + LATE_LOOK_S + (bench.clock.now_s() - began_s) + LATE_LOOK_S
    for _ in range(4 if scan.process.good else 0):
        scan = bench.tick(heat=True, watched=False)
    if not (scan.process.good and seen_on(bench.oven, scan)):
        return spoilt(silent)
    bench.silence(quiet_s)
    scan = bench.tick(heat=True, feed=False, watched=False, every_s=LOOK_S)
    if seen_on(bench.oven, scan) is not False:
        return spoilt(silent if scan.process.good else scan)
    said = f"the board falls silent as it drops the heat, as in a restart: off within {quiet_s:.1f} s"
    return Finding(quiet_s <= DEAD_MAN_S + LATE_LOOK_S, quiet_s, f"{said} in which nothing was sent", True)


def _in_silence(bench: Ticks, limit_s: float) -> Finding:
    for _ in range(2):
        scan = bench.tick(heat=True, watched=False)
    if not (scan.process.good and seen_on(bench.oven, scan)):
        return spoilt(scan)  # off after the silence proves nothing unless it was on before
    bench.silence(limit_s + LATE_LOOK_S)
    scan = bench.tick(heat=True, feed=False, watched=False, every_s=LOOK_S)
    if seen_on(bench.oven, scan) is False:
        said = f"the output dropped within {limit_s:.0f} s of silence, but any reading keeps it on"
        said = f"{said}: it guards against a lost link, not against a hung program"
        return Finding(True, limit_s, said, any_traffic=True)
    dark = NO_POWER if live(scan) is False and not bench.oven.drops_at_the_element else ""
    cure = dark or _too_long(bench.oven) or ARMED
    return Finding(False, None, f"still on after {limit_s:.0f} s of silence: NO dead-man, no live heat{cure}")


def _too_long(oven: Oven) -> str:
    held_s = holds_for_s(oven) or 0.0
    return TOO_LONG.format(held_s, DEAD_MAN_S) if held_s > DEAD_MAN_S else ""
