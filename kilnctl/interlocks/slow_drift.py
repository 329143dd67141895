"""Does holding a temperature cost more and more heat? Then the sensor may read less and less of it."""

from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, near, supply_power
from kilnctl.interlocks.thresholds import Thresholds
from kilnctl.model.oven_model import OvenModel, holding_duty
from kilnctl.model.physical_bounds import within
from kilnctl.readings import Alarm, Observation, Priority, ResetClass, Trip

# Held: the set-point stands and the reading is near it; a disturbance longer than this begins anew.
STANDS_K, NEAR_K, OFF_S = 0.5, 4.0, 30.0
# What the estimate still settles by after an arrival, and the mean that is judged (see the class).
SETTLE_S, MEAN_S = 600.0, 300.0
# Told at this share of full power, or of the duty while the volts are not measured: the mains may wander.
TELL, TELL_OF_DUTY = 0.03, 0.08
# Beyond any explanation: with measured volts twice as much; without them what a supply of 85 % explains
# (1 - 0.85^2 = 0.28 of the duty) and a cold room on top.
TRIP_MEASURED, TRIP_OF_DUTY = 0.06, 0.30
AGAIN = 0.7
# A wall that the model takes for soaked too soon: of the fall in heat that the model expected in this hold so
# much may not come, and no more than this. Two zones whose far wall went on drinking were tripped, at a duty
# that hardly rose; where walls are soaked through the duty rises by all that is missing.
DRINKS_ON, DRINKS_MOST = 0.7, 0.06
# What the eye could not explain on the learning heat beyond this, which is what trips at least, an oven of
# another build may drift by in a sound hold too: a muffle (0.14 on its learning) fell by a tenth of full
# power in an hour, two zones (0.10) by 0.08 in 19 minutes.
EXPLAINED = TRIP_MEASURED


class SlowDrift:
    """The holding duty of a learned oven as a second thermometer: alarm first, trip when nothing else fits.

    Level says nothing: a tenth of supply is 40 K of a tempering oven, and models are good to a fifth. But the
    error of supply and model is the same all through one hold, so only its change within the hold is
    judged: how far the unexplained heat (the disturbance observer's, mean of five minutes) has fallen below
    its own highest since the oven has been held for ten minutes. A wall that still warms up lets it rise.
    In 100 sound holds on ovens off by a fifth it fell by less than 0.02 of full power, in 60 where the supply
    wandered by 3 % by up to 0.04 (three of those were told), under 20 K of drift by 0.05 to 0.08
    (tests/bench/slow_drift.md, which makes them again).

    Blind on an oven that is not learned, in ramps, in the first ten minutes of a hold, and to a drift that
    began before them until it has gone on for as long again.
    """

    kind: ClassVar[str] = "slow_drift"
    label: ClassVar[str] = "holding duty"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self._model, self.blind = limits.model, not limits.learned
        self._nominal_v = limits.supply_v if oven.signal.supply_v is not None else None
        self._otherwise = max(limits.model.unexplained - EXPLAINED, 0.0)
        self._told = False
        self._forget()

    def _forget(self) -> None:
        self._anchor_c: float | None = None
        self._held_s = self._off_s = self._fallen = self._since_s = 0.0
        self._limit = TELL
        self._mean: float | None = None
        self._highest: float | None = None
        self._duty = self._duty_then = 0.0
        self._supply: float | None = None
        self._told = False

    def check(self, seen: Observation) -> Trip | Alarm | None:
        """Follow one hold."""
        if seen.unexplained is None or not self._holds(seen):
            self._forget()
            return None
        self._held_s += seen.dt_s
        share = seen.dt_s / (MEAN_S if self._held_s > MEAN_S else self._held_s)
        self._duty += (seen.duty_asked - self._duty) * (1.0 if share > 1.0 else share)
        if self._held_s < SETTLE_S - MEAN_S:
            return None
        share = seen.dt_s / MEAN_S
        share = 1.0 if share > 1.0 else share
        value = seen.unexplained - self._by_supply(seen)
        self._mean = value if self._mean is None else self._mean + (value - self._mean) * share
        if self._held_s < SETTLE_S:
            return None
        return self._judge(seen, self._mean)

    def _holds(self, seen: Observation) -> bool:
        setpoint_c, process_c = seen.setpoint_c, seen.scan.process.value
        if setpoint_c is None or not seen.heating_allowed or seen.scan.door_open:
            return False
        if self._anchor_c is None:
            self._anchor_c = setpoint_c
        away = process_c is None or abs(process_c - setpoint_c) > NEAR_K
        self._off_s = self._off_s + seen.dt_s if away else 0.0
        return abs(setpoint_c - self._anchor_c) <= STANDS_K and self._off_s <= OFF_S

    def _by_supply(self, seen: Observation) -> float:
        """Return what the measured volts explain: heat goes with their square, beside those at the start."""
        power = supply_power(seen.scan, self._nominal_v)
        if power is None:
            return 0.0
        if self._supply is None:
            self._supply = power
        return self._duty * (power / self._supply - 1.0) if self._supply > 0.0 else 0.0

    def _judge(self, seen: Observation, mean: float) -> Trip | Alarm | None:
        if self._highest is None or mean >= self._highest:
            self._highest, self._since_s, self._duty_then = mean, 0.0, self._duty
        self._since_s += seen.dt_s
        fallen = self._fallen = self._highest - mean
        measured = self._supply is not None
        of_duty = TELL_OF_DUTY * self._duty
        tell = TELL if measured or of_duty < TELL else of_duty
        trip = TRIP_MEASURED if measured else TELL + TRIP_OF_DUTY * self._duty
        trip += self._otherwise
        trip += within(DRINKS_ON * (fallen - (self._duty - self._duty_then)), 0.0, DRINKS_MOST)
        self._limit = trip
        if fallen >= trip:
            reason = self._words(seen, fallen)
            return Trip(self.kind, reason, seen.at_s, reset=ResetClass.B, repeat_step="reference check")
        self._told = fallen >= (AGAIN * tell if self._told else tell)
        return Alarm(self.kind, self._words(seen, fallen), seen.at_s, Priority.SOON) if self._told else None

    def _words(self, seen: Observation, fallen: float) -> str:
        hotter_k = fallen / _per_k(self._model, seen.setpoint_c or 0.0, seen.ambient_c, self._since_s)
        return (
            f"holding takes {fallen:.0%} of full power more than {self._since_s / 60:.0f} min ago, as if the "
            f"oven were about {hotter_k:.0f} K hotter than it reads: sensor slip, low supply, door, element?"
        )

    def distance(self) -> Distance:
        """Return by how much the unexplained heat has fallen in this hold."""
        if self.blind:
            return Distance(None, None, "of full power", 0.0, "blind until the oven is learned")
        if self._held_s < SETTLE_S:
            return Distance(None, self._limit, "of full power", 0.0, "blind until it has held for 10 min")
        return Distance(self._fallen, self._limit, "of full power", near(self._fallen, self._limit))


def _per_k(model: OvenModel, at_c: float, ambient_c: float, over_s: float) -> float:
    """Return the share of full power that one kelvin costs which came within `over_s` seconds.

    What the oven loses more, and what element, chamber and load have to store meanwhile.
    """
    loses = (holding_duty(model, at_c + 10.0, ambient_c) - holding_duty(model, at_c, ambient_c)) / 10.0
    return loses + (model.element + model.face + model.load) / max(over_s, SETTLE_S)
