"""Does the temperature do what the commanded heat says? Heat that the learned oven cannot explain."""

import math
from typing import ClassVar

from kilnctl.config.oven import Oven
from kilnctl.interlocks.contract import Distance, hands_may_be_in, live, near, supply_power
from kilnctl.interlocks.held_share import HeldShare
from kilnctl.interlocks.thresholds import UNEXPLAINED_MOST, Thresholds
from kilnctl.model.drying import BOILS_C, STANDS_TO_C, Boiling
from kilnctl.model.seen_coasts import coast_s
from kilnctl.readings import Observation, Reaction, ResetClass, Trip

# How soon the heat asked counts, and how long it goes on counting.
RISE_S, NOW_S, EXCESS_S, MISSING_S = 30.0, 30.0, 120.0, 300.0
# An oven with a late sensor goes on answering to heat that is over: for this share of its longest coast.
COAST_SHARE = 1.0
# While the oven coasts, heat that is missing against the model is a coast shorter than the model's; the
# estimate says so for a while after heat is asked again: so long, and so many coasts of this oven's own
# pauses, because that heat has to reach a late reading first (a warm door's corner seemed to lack 0.4).
COASTING, COASTED_S, COASTED_COASTS = 0.9, 90.0, 2.0
# A sensor twice as slow as learned shows as half of the heat missing, but only in the first three minutes of
# a heat (0.48 on fibre ovens, gone after 178 s); half an element goes on showing. In the same minutes what
# comes of a first short pulse comes late: how much was asked is not forgotten before they are over.
FIRST_S, FIRST_OF_HEAT = 240.0, 0.75
# How soon more heat than the model's is taken for how this oven is, and how long that is remembered. It
# counts once nearly full heat was asked for so long: between the pulses of a heat-up the estimate swings.
USUAL_S, REMEMBERED_S = 300.0, 1800.0
FULL, FULL_S = 0.9, 80.0
# What comes of the heat asked, by means of a minute, is judged where so much is asked, and not much more or
# less of it than in the last minutes: the estimate follows the heat late.
ASKED_S, LATELY_S, ASKED, STEADY = 60.0, 300.0, 0.3, 0.1
# Half an element brings half of what it brought before in this heat; a supply of 85 % brings 72 %. Known
# after so long, judged when it has lasted.
SHARE_LEFT, SHARE_KNOWN_S, SHARE_FOR_S = 0.64, 120.0, 60.0
# Under full heat a sound oven does not get colder, however far its losses are from the model's, but for one
# whose supply is at its worst where two thirds of full power hold it: where it does, less has to be missing.
TURNED_S, COLDER_K, COLDER_OF_HEAT = 90.0, 1.0, 0.28
# What is missing for a minute, as a share of the heat asked where that is half of full power at least. A
# supply of -10 % on an oven that stores a fifth more lacks a third; the worst of 137 near ovens lacked 0.34
# for 40 s. No less of full power than this share of the limit: a badly learned oven always lacks some.
# Half an element takes half of what came before in this heat: of a supply of 92 % that leaves 0.58 missing,
# and a damp lining behind one came to 0.42 for two minutes. Before is so much of the heat asked at least.
LASTING_OF_HEAT, LASTING_S, LASTING_ASKED, LASTING_SHARE = 0.40, 60.0, 0.5, 0.85
LEAST_BEFORE = 0.7
# Missing counts from what this oven usually has, less what that swings by, as long as so much of the limit is
# missing by itself: half an element that dies in a soak is seen while the duty still climbs (campaign, seeds
# 297204 and 297933). Between the pulses of a heat-up the estimate swings.
LASTING_ITSELF, SWINGS = 0.5, 2.0
# With measured volts only the model is left to explain: a fifth more loss or heat to store lacks a sixth,
# half an element with a fifth less of either a third at least. It need not have been seen whole.
MEASURED_OF_HEAT = 0.30

# What was missing while water boiled is no claim while it fades evenly, within so long. What all around has
# taken meanwhile comes back, as long as a coast: a relay that sticks shows as more than a limit ever is.
DRIED_S = 240.0
# No heat was missing below where water boils: so much of a limit at most. Or so much, the same within 0.05
# over a minute, as with a heavy charge: where an element dies it is more by the second.
WHOLE, EVER_WHOLE, EVER, EVER_S = 0.5, 0.75, 0.05, 60.0

# Where no switch tells of the door, each step says to switch off at the isolator first: what is missing then
# counts for a sixth of its time, so that two minutes of it are a limit's twenty seconds.
HANDS = 1.0 / 6.0


class EnergyBalance:
    """Too much heat: a relay passes what nobody asked. Too little: relay open, element dead, sensor out.

    The estimate is the disturbance observer's, driven by the commanded heat; a first-order slope check
    trips falsely at every ramp corner of a real furnace. Blind until the oven is learned and the estimate
    has settled (two minutes after a start or a door), and to missing heat while water boils off.

    A supply of +10 % on an oven that stores a fifth less than its model gives 1.21 / 0.8 - 1 = 0.51 of
    the heat asked too much, with lower losses up to 0.7; -10 % on one that stores a fifth more gives
    1 - 0.81 / 1.2 = 0.33 too little, with higher losses up to 0.4. So at a high duty the limit is a share of
    that duty: a relay that sticks is no danger while nearly full heat is asked, and at the duty of a soak
    little changes. The estimate comes and goes more slowly than the heat, so the duty is remembered: soon
    when it rises, longer when it falls
    (measured on ovens wrong in all their constants at once by up to a fifth, supply by up to a tenth).

    Under full heat what is missing counts from what this oven usually has: where 16 % more came than the
    model knows, half an element that dies leaves only 33 % of full power missing, and the heat went on for
    40 minutes. At less heat the same is judged by the share that comes of what is asked.
    """

    kind: ClassVar[str] = "energy_balance"
    label: ClassVar[str] = "energy balance"

    def __init__(self, oven: Oven, limits: Thresholds) -> None:
        self.blind = not limits.learned
        self._unexplained, self._coasts = limits.model.unexplained, limits.model.coasts
        self._limit, self._for_s = limits.unexplained, limits.unexplained_s
        self._excess_of_heat, self._missing_of_heat = limits.excess_of_heat, limits.missing_of_heat
        self._nominal_v = limits.supply_v if oven.signal.supply_v is not None else None
        self._excess_s = max(EXCESS_S, COAST_SHARE * limits.remembered_s)
        self._over_s = self._since_s = self._lasts_s = 0.0
        # The heat asked lately, each with a memory of its own.
        self._now = self._excess = self._mean = self._missing = self._coasting = 0.0
        self._value: float | None = None
        self._usual = self._swing = self._known_s = self._full_s = 0.0
        self._share, self._colder, self._boiling = _Share(), _Colder(), Boiling()
        self._held = HeldShare()
        self._dried_s, self._lacked, self._whole = math.inf, 0.0, False
        self._below: float | None = None

    def _limit_for(self, value: float | None) -> float:
        if value is not None and value > 0.0:
            of_heat = self._excess_of_heat * self._excess
            least = UNEXPLAINED_MOST if self._dried_s < self._excess_s else self._limit
            return of_heat if of_heat > least else least
        lately = self._missing
        if self._colder.is_colder:
            return COLDER_OF_HEAT * lately
        of_heat = self._missing_of_heat if self._since_s > FIRST_S else FIRST_OF_HEAT
        of_heat, coast = of_heat * lately, COASTING * self._coasting
        most = of_heat if of_heat > coast else coast
        return most if most > self._limit else self._limit

    def _lacks(self, seen: Observation) -> bool:
        """Return whether more of the heat asked is missing than a sound oven lacks or a coast explains."""
        lately, missing = self._missing, -(seen.unexplained or 0.0)
        if lately < LASTING_ASKED or missing <= LASTING_ITSELF * self._limit:
            return False
        lacking = missing + self._beyond(self._usual - SWINGS * self._swing)
        of_heat = 1.0 - (1.0 - LASTING_OF_HEAT) * self._share.before
        power = supply_power(seen.scan, self._nominal_v)
        if power is not None and missing + self._now * (power - 1.0) > MEASURED_OF_HEAT * lately:
            lacking, of_heat = missing + self._now * (power - 1.0), MEASURED_OF_HEAT
        least = LASTING_SHARE * self._limit
        return lacking > of_heat * lately and lacking > least and lacking > COASTING * self._coasting

    def _remember(self, duty: float, reads_c: float | None, dt_s: float) -> None:
        self._now = _followed(self._now, duty, dt_s, NOW_S)
        if duty > self._excess or self._since_s > FIRST_S:
            self._excess = _followed(self._excess, duty, dt_s, self._excess_s)
        # What a relay's pulses leave missing is a share of their mean; as a long one begins, of the pulse.
        self._mean = _followed(self._mean, self._now, dt_s, MISSING_S)
        missing = self._missing = self._now if self._now > self._mean else self._mean
        late_s = 0.0 if reads_c is None else coast_s(self._coasts, reads_c)
        share = dt_s / (COASTED_S + COASTED_COASTS * late_s)
        faded, coasts = self._coasting * (1.0 - (1.0 if share > 1.0 else share)), missing - self._now
        self._coasting = faded if faded > coasts else coasts

    def _against_usual(self, value: float | None, dt_s: float) -> float | None:
        """Return what is missing against what came lately; what is too much stays as it is."""
        if value is None:
            return None
        usual = self._usual
        excess = 0.0 if value < 0.0 else value
        self._known_s = min(self._known_s + dt_s, REMEMBERED_S)
        if self._known_s > 0.0:
            self._swing += (abs(excess - usual) - self._swing) * dt_s / self._known_s
        self._usual = usual + (excess - usual) * dt_s / (USUAL_S if value > usual else REMEMBERED_S)
        return value - self._beyond(usual) if value < 0.0 and self._full_s >= FULL_S else value

    def _beyond(self, more: float) -> float:
        """Return what comes beyond the model and beyond what its learning left unexplained."""
        return more - self._unexplained if more > self._unexplained else 0.0

    def check(self, seen: Observation) -> Trip | None:
        """Judge size and persistence, per sign."""
        value = self._against_usual(seen.unexplained, seen.dt_s)
        self._full_s = self._full_s + seen.dt_s if seen.duty_asked >= FULL else 0.0
        process_c = seen.scan.process.value
        self._remember(seen.duty_asked, process_c, seen.dt_s)
        self._since_s += seen.dt_s if seen.heat_asked or self._since_s > 0.0 else 0.0
        self._dried_s += seen.dt_s
        self._colder.see(process_c, self._full_s, seen.dt_s)
        if value is None or seen.scan.door_open or process_c is None or self._dries(seen, process_c, value):
            self._over_s, self._lasts_s, self._value = 0.0, 0.0, value
            self._held.pause()
            return None
        hands = value < 0.0 and hands_may_be_in(seen)
        if (
            seen.unexplained is not None
            and not hands
            and self._share.has_fallen(seen, self._since_s > FIRST_S, COASTING * self._coasting)
        ):
            return self._less(self._share.left, "part of the element dead, supply, or door ajar", seen)
        known = None if hands_may_be_in(seen) else seen.unexplained
        if self._held.has_fallen(seen.setpoint_c, process_c, seen.duty_asked, known, seen.dt_s):
            return self._less(
                self._held.left, "sensor out of place, part of the element dead, door ajar", seen
            )
        dt_s = seen.dt_s * HANDS if hands else seen.dt_s
        self._lasts_s = self._lasts_s + dt_s if self._lacks(seen) else 0.0
        if self._lasts_s >= LASTING_S and self._since_s > FIRST_S:
            return self._too_little(value, seen)
        before, self._value = self._value, value
        if abs(value) <= self._limit_for(value) or (before is not None and before * value < 0.0):
            self._over_s = 0.0
            return None
        self._over_s += dt_s
        if self._over_s < self._for_s:
            return None
        return self._too_much(value, seen) if value > 0.0 else self._too_little(value, seen)

    def _dries(self, seen: Observation, process_c: float, value: float) -> bool:
        """Return whether water takes the heat that is missing: no model knows it."""
        if process_c > STANDS_TO_C:
            return False
        if process_c < BOILS_C[0]:
            self._look_below(value, seen.dt_s)
        lacked = min(self._below or 0.0, 0.0)
        begun = self._whole and value < lacked - WHOLE * self._limit and seen.duty_asked >= FULL
        stands = self._boiling.see(process_c, seen.setpoint_c, seen.dt_s, begun) and value < 0.0
        if stands:
            self._dried_s, self._lacked = 0.0, value
        # The estimate comes back as slowly as it went.
        return stands or 0.0 > value > self._lacked * max(1.0 - self._dried_s / DRIED_S, 0.0)

    def _look_below(self, value: float, dt_s: float) -> None:
        """Follow what is missing below where water boils."""
        below = value if self._below is None else self._below
        self._below = below + (value - below) * min(dt_s / EVER_S, 1.0)
        ever = value > -EVER_WHOLE * self._limit and self._below - value < EVER
        self._whole = value > -WHOLE * self._limit or ever

    def _less(self, left: float, why: str, seen: Observation) -> Trip:
        reason = f"only {left:.0%} of the heat that came before comes now: {why}"
        return Trip(self.kind, reason, seen.at_s, reset=ResetClass.B, repeat_step="heater pulse")

    def _too_much(self, value: float, seen: Observation) -> Trip:
        reason = f"{value:.0%} of full power arrives that nobody asked for: is a relay stuck?"
        return Trip(self.kind, reason, seen.at_s, reset=ResetClass.C)

    def _too_little(self, value: float, seen: Observation) -> Trip:
        if seen.heat_asked and live(seen.scan) is False:
            reason = f"{-value:.0%} of full power is missing: relay open, fuse, element or supply"
            return Trip(self.kind, reason, seen.at_s, Reaction.STOP, ResetClass.B, "learn")
        reason = f"{-value:.0%} of full power is missing: element dead, door ajar or sensor out of place"
        return Trip(self.kind, reason, seen.at_s, reset=ResetClass.B, repeat_step="heater pulse")

    def distance(self) -> Distance:
        """Return the unexplained share of full power."""
        if self._value is None:
            return Distance(
                None, self._limit, "of full power", 0.0, "blind until the oven is learned and settled"
            )
        limit = self._limit_for(self._value)
        return Distance(self._value, limit, "of full power", near(abs(self._value), limit))


def _followed(lately: float, duty: float, dt_s: float, falls_s: float) -> float:
    """Return the heat asked lately, dt_s seconds on: soon when it rises, over `falls_s` when it falls."""
    share = dt_s / (RISE_S if duty > lately else falls_s)
    return lately + (duty - lately) * (share if share < 1.0 else 1.0)


class _Share:
    """What comes of the heat asked, against what came of it before in this heat."""

    def __init__(self) -> None:
        self._asked = self._came = self._lately = self._known_s = self._low_s = self._usual = 0.0
        self._fully, self._fully_s = 1.0, 0.0
        self.left = 1.0

    @property
    def before(self) -> float:
        """Return what came of full heat before; 1 at most, and where it is not known."""
        known = self._fully if self._fully_s >= SHARE_KNOWN_S else 1.0
        return min(max(known, LEAST_BEFORE), 1.0)

    def has_fallen(self, seen: Observation, judged: bool, coast: float) -> bool:
        """Follow one tick whose unexplained heat is known; return True once far less comes, for long.

        `coast`: so much may be missing after a coast that was shorter than the model's.
        """
        duty, missing, dt_s = seen.duty_asked, seen.unexplained or 0.0, seen.dt_s
        share = dt_s / ASKED_S
        share = 1.0 if share > 1.0 else share
        self._asked += (duty - self._asked) * share
        self._came += (duty + missing - self._came) * share
        share = dt_s / LATELY_S
        self._lately += (duty - self._lately) * (1.0 if share > 1.0 else share)
        if duty >= FULL:
            self._follow_full(1.0 + missing, dt_s)
        if not judged or self._asked < ASKED or abs(self._asked - self._lately) > STEADY:
            self._low_s = 0.0
            return False
        comes = self._came / self._asked
        coasts = -missing <= coast
        self._learn(max(comes, 1.0) if coasts else comes, dt_s)
        self.left = comes / self._usual if self._usual > 0.0 else 1.0
        low = self._known_s >= SHARE_KNOWN_S and self.left < SHARE_LEFT and not coasts
        self._low_s = self._low_s + dt_s if low else 0.0
        return self._low_s >= SHARE_FOR_S

    def _follow_full(self, comes: float, dt_s: float) -> None:
        """Follow it: a mean at first, then more is believed much sooner than less, which may be a fault."""
        self._fully_s += dt_s
        over_s = USUAL_S if comes > self._fully else REMEMBERED_S
        over_s = self._fully_s if self._fully_s < SHARE_KNOWN_S else over_s
        self._fully += (comes - self._fully) * (dt_s / over_s if dt_s > 0.0 else 0.0)

    def _learn(self, comes: float, dt_s: float) -> None:
        if dt_s <= 0.0:
            return
        self._known_s += dt_s
        memory_s = USUAL_S if comes > self._usual else REMEMBERED_S
        share = dt_s / (self._known_s if self._known_s < memory_s else memory_s)
        self._usual += (comes - self._usual) * (1.0 if share > 1.0 else share)


class _Colder:
    """Whether the reading falls though full heat is asked, since the oven had time to turn."""

    def __init__(self) -> None:
        self._mean_c: float | None = None
        self._from_c: float | None = None
        self.is_colder = False

    def see(self, process_c: float | None, full_s: float, dt_s: float) -> None:
        """Take one reading in degC and for how long full heat has been asked."""
        if process_c is None or full_s < TURNED_S:
            self._mean_c, self._from_c, self.is_colder = process_c, None, False
            return
        mean_c = process_c if self._mean_c is None else self._mean_c
        self._mean_c = mean_c + (process_c - mean_c) * min(dt_s / 10.0, 1.0)
        self._from_c = self._mean_c if self._from_c is None else max(self._from_c, self._mean_c)
        self.is_colder = self._from_c - self._mean_c >= COLDER_K
