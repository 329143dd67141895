"""Heat that nobody asked for."""

from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, live, near
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.readings import Observation, ResetClass, Trip

ALLOWED_TICKS = 1
DUTY_ALLOWED_S = 20.0  # a board that makes the duty itself may end the pulse that it has begun
MAY_SHOW = "may show the timer, not the heat: do the dead-man test, and leave it out of the oven file"
RISE_K = 2.0
RISE_S = 30.0


class HeatWithoutDemand:
    """The output reads on, or the element is live, for longer than one tick while heat is not asked.

    An output must read on in two ticks in a row. A live element counts until it has been seen dead, whatever
    is asked meanwhile: near full heat every pause is one tick long, and a welded relay would pass each.
    """

    kind: ClassVar[str] = "heat_without_demand"
    label: ClassVar[str] = "heat without demand"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._on_ticks = self._live_ticks = 0
        self._live_s = 0.0
        self._has_contactor = oven.output.contactor is not None
        witness = oven.timers_witness
        self._or_the_timer = f"; if the heater's relay is open, {witness} {MAY_SHOW}" if witness else ""
        self._allowed_s = DUTY_ALLOWED_S if oven.output.heater.kind == "duty" else 0.0

    def check(self, seen: Observation) -> Trip | None:
        """Compare what was asked with what is."""
        scan = seen.scan
        alive = live(scan)
        if not alive:
            self._live_ticks, self._live_s = 0, 0.0
        if seen.heat_asked:
            self._on_ticks = 0
            return None
        self._on_ticks = self._on_ticks + 1 if scan.heat_on else 0
        if alive:
            self._live_s += seen.dt_s
            self._live_ticks += self._live_s > self._allowed_s
        if self._ticks <= ALLOWED_TICKS:
            return None
        what = (
            "the output stayed on" if scan.heat_on else "the element stayed live though the output read off"
        )
        by_hand = "" if self._has_contactor else "; no safety contactor is fitted: CUT POWER BY HAND"
        return Trip(
            self.kind,
            f"{what}, no heat was asked for{by_hand}{self._or_the_timer}",
            seen.at_s,
            reset=ResetClass.C,
        )

    @property
    def _ticks(self) -> int:
        return self._on_ticks if self._on_ticks > self._live_ticks else self._live_ticks

    def distance(self) -> Distance:
        """Return ticks of heat without demand."""
        limit = ALLOWED_TICKS + 1
        return Distance(self._ticks, limit, "ticks", near(self._ticks, limit))


class RisingWhileOff:
    """The temperature rises long after the heat was cut: half a relay, or a bridge.

    Judged only while the programmer holds a set-point: with the heat off for hands, a door that is shut
    again lets any sensor rise.
    """

    kind: ClassVar[str] = "rising_while_off"
    label: ClassVar[str] = "rising while off"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._coast_s = limits.coast_s
        self._off_s = self._over_s = self._rise_k = 0.0
        self._lowest_c: float | None = None

    def check(self, seen: Observation) -> Trip | None:
        """Follow the lowest temperature since the coast ended."""
        process_c = seen.scan.process.value
        if seen.duty_asked > 0.0 or seen.setpoint_c is None or not seen.heating_allowed or process_c is None:
            self._off_s = self._over_s = self._rise_k = 0.0
            self._lowest_c = None
            return None
        self._off_s += seen.dt_s
        if self._off_s < self._coast_s or seen.segment_kind == "operator":
            return None
        lowest_c = self._lowest_c
        self._lowest_c = process_c if lowest_c is None else min(lowest_c, process_c)
        self._rise_k = process_c - self._lowest_c
        self._over_s = self._over_s + seen.dt_s if self._rise_k > RISE_K else 0.0
        if self._over_s < RISE_S:
            return None
        return Trip(
            self.kind,
            f"{self._rise_k:.1f} K warmer though the heat has been off for {self._off_s:.0f} s",
            seen.at_s,
            reset=ResetClass.C,
        )

    def distance(self) -> Distance:
        """Return the rise while off."""
        return Distance(self._rise_k, RISE_K, "K", near(self._rise_k, RISE_K))
