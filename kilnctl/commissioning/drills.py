"""What this program does during a set-up step, through an oven's hands. Every drill ends with the heat off.

Drills that heat are short, bounded by the machine's limit and by the interlocks, and need a person beside
the oven: that is what the walk asks for.
"""

import threading
from collections.abc import Callable
from dataclasses import dataclass

from kilnctl.clock import Clock
from kilnctl.config.oven import Oven
from kilnctl.devices.roles import Hands, HeatRequest
from kilnctl.interlocks import Interlock, Thresholds, build
from kilnctl.model.oven import advance, at_rest, nameplate, sensor_c
from kilnctl.readings import Observation, Reaction, Scan, Trip

ON, OFF = HeatRequest(True, 1.0), HeatRequest(False, 0.0)
PULSE_S = 60.0
WATCH_S = 120.0
DEAD_MAN_S = 10.0
COLD_K = 15.0
NEVER = threading.Event()


@dataclass(frozen=True, slots=True)
class Found:
    """What a drill found: passed or not, the value that is stored, and a line for a person."""

    passed: bool
    value: float | None
    line: str


class Bench:
    """One oven on the bench: its hands, watched by its interlocks, a tick at a time."""

    def __init__(self, oven: Oven, hands: Hands, clock: Clock) -> None:
        self.oven, self.hands, self.clock = oven, hands, clock
        self._interlocks: tuple[Interlock, ...] = build(oven, Thresholds.of(oven))
        self._asked = False
        self._deadline_s = clock.now_s()
        self.trip: Trip | None = None

    def tick(self, heat: bool, feed: bool = True, watched: bool = True) -> Scan:
        """Wait for the next tick, look, judge, and heat if asked and nothing has tripped.

        Without `feed` the dead-man starves; `watched` is false where the drill provokes what trips.
        """
        self._deadline_s += self.oven.tick_s
        self.clock.wait_until(self._deadline_s, NEVER)
        scan = self.hands.scan(self.clock.now_s())
        if watched and self.trip is None:
            self._judge(scan)
        self._asked = heat and self.trip is None and scan.process.good
        if not self._asked:
            self.hands.drive(OFF)
        elif feed:
            self.hands.drive(ON)
            self.hands.feed()
        return scan

    def _judge(self, scan: Scan) -> None:
        tick_s = self.oven.tick_s
        seen = Observation(
            scan=scan,
            at_s=scan.at_s,
            dt_s=tick_s,
            real_dt_s=tick_s,
            late_s=0.0,
            heating_allowed=True,
            heat_asked=self._asked,
            duty_asked=float(self._asked),
            setpoint_c=self.oven.limit_c if self._asked else None,
            segment_kind="ramp",
            run_max_c=None,
            limit_c=self.oven.limit_c,
            ambient_c=self.oven.ambient_c,
        )
        for interlock in self._interlocks:
            verdict = interlock.check(seen)
            if isinstance(verdict, Trip) and verdict.reaction is not Reaction.NOTIFY:
                self.trip = verdict
                return


def bus(bench: Bench) -> Found:
    """Look at the bus: `connect` has checked identities; outputs must be off, and nobody else talks."""
    scan = bench.tick(heat=False)
    if not scan.process.good:
        return Found(False, None, f"no temperature: {scan.process.quality}")
    if scan.heat_on or scan.contactor_on:
        return Found(False, None, "an output came up ON: this board must not be used")
    if scan.link.foreign:
        return Found(False, None, f"{scan.link.foreign} frames that nobody asked for")
    return Found(True, None, "one device answers, outputs off, no strangers")


def dead_man(bench: Bench) -> Found:
    """Switch on, fall silent towards the dead-man, and measure how long the output holds."""
    bench.tick(heat=True, watched=False)
    for _ in range(3):
        scan = bench.tick(heat=True, watched=False)
    if not scan.heat_on:
        return Found(False, None, "the output did not come on")
    start_s = bench.clock.now_s()
    while bench.clock.now_s() - start_s <= 2.0 * DEAD_MAN_S:
        scan = bench.tick(heat=True, feed=False, watched=False)
        if scan.heat_on is False:
            held_s = bench.clock.now_s() - start_s
            return Found(held_s <= DEAD_MAN_S, held_s, f"the output dropped by itself after {held_s:.1f} s")
    return Found(False, None, f"the output was still on after {2 * DEAD_MAN_S:.0f} s: NO dead-man")


def pulse(bench: Bench) -> Found:
    """Heat for one minute from cold and compare the rise with the nameplate's."""
    first = bench.tick(heat=False)
    start_c = first.process.value
    if start_c is None or abs(start_c - bench.oven.ambient_c) > COLD_K:
        return Found(False, None, "start from a cold oven with a good sensor")
    highest_c = lowest_c = start_c
    model, state, due_k = nameplate(bench.oven), at_rest(start_c), 0.0
    for second in range(int(PULSE_S + WATCH_S)):
        heat = second < PULSE_S
        scan = bench.tick(heat)
        if bench.trip is not None:
            return Found(False, None, bench.trip.reason)
        state = advance(model, state, float(heat), start_c, bench.oven.tick_s)
        due_k = max(due_k, sensor_c(state) - start_c)
        if scan.process.value is not None:
            highest_c, lowest_c = max(highest_c, scan.process.value), min(lowest_c, scan.process.value)
    return _judge_pulse(highest_c - start_c, start_c - lowest_c, due_k)


def _judge_pulse(rise_k: float, fall_k: float, due_k: float) -> Found:
    if fall_k > 2.0 and rise_k < fall_k:
        return Found(False, -fall_k / due_k, f"{fall_k:.1f} K colder under heat: its leads are reversed")
    if rise_k < 1.0:
        return Found(False, 0.0, "no rise: no heat path, the sensor is out, or another oven was heated")
    share = rise_k / due_k
    line = f"rose by {rise_k:.1f} K, {share:.0%} of the nameplate's {due_k:.1f} K"
    return Found(0.3 <= share <= 1.3, share, line)


def cold(bench: Bench, room_c: float) -> Found:
    """Compare the sensor with a room thermometer."""
    value_c = bench.tick(heat=False).process.value
    if value_c is None:
        return Found(False, None, "no reading")
    gap_k = value_c - room_c
    return Found(
        abs(gap_k) <= 3.0, gap_k, f"the sensor reads {value_c:.1f} °C, the thermometer {room_c:.1f} °C"
    )


def door(bench: Bench) -> Found:
    """Wait for the door to be opened while the element is asked for heat."""
    return _wait(bench, lambda scan: scan.door_open is True and scan.heater_live is not True, 120.0, "door")


def sensor(bench: Bench) -> Found:
    """Wait for the sensor to be unplugged and count the ticks to the cut."""
    for _ in range(300):
        scan = bench.tick(heat=bench.trip is None)
        if not scan.process.good:
            after = bench.tick(heat=False)
            off = after.heat_on is False
            return Found(off, 1.0 if off else None, f"sensor gone ({scan.process.quality}); heat off: {off}")
    return Found(False, None, "the sensor was not unplugged within five minutes")


def weld(bench: Bench) -> Found:
    """Heat for three ticks, which closes the contactor, then wait for heat that comes all the same."""
    for _ in range(3):
        bench.tick(heat=True)
    for _ in range(600):
        bench.tick(heat=False)
        if bench.trip is not None:
            off = bench.hands.off()
            return Found(off, None, f"{bench.trip.reason}; everything read back as off: {off}")
    return Found(False, None, "nothing was noticed in ten minutes")


def horn(bench: Bench) -> Found:
    """Sound horn and lamp for five seconds; a person says whether it was heard and seen."""
    for second in range(6):
        bench.hands.sound(second < 5, second < 5)
        bench.tick(heat=False)
    return Found(True, None, "sounded for five seconds")


def _wait(bench: Bench, seen: Callable[[Scan], bool], for_s: float, what: str) -> Found:
    for _ in range(int(for_s / bench.oven.tick_s)):
        if seen(bench.tick(heat=False)):
            return Found(True, None, f"{what}: seen, and the element is dead")
    return Found(False, None, f"{what}: nothing was seen within {for_s:.0f} s")


DRILLS: dict[str, Callable[[Bench], Found]] = {
    "bus": bus,
    "dead_man": dead_man,
    "pulse": pulse,
    "door": door,
    "sensor": sensor,
    "weld": weld,
    "horn": horn,
}


def run(name: str, oven: Oven, hands: Hands, clock: Clock) -> Found:
    """Connect, drill, and heat off whatever happens. Raises DeviceError or RunRefused."""
    try:
        hands.connect()
        found = DRILLS[name](Bench(oven, hands, clock))
    finally:
        off = hands.off()
        hands.close()
    return found if off else Found(False, found.value, f"{found.line}; the output did NOT read back as off")
