"""The limits of the interlocks of one oven: from what was learned of it, with floors, and shown."""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import inf

from kilnctl.config.oven import Oven
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel, OvenState, advance, at_rest, sensor_c

# Moves slower than these are never judged: noise and quantisation of a healthy sensor over ten seconds.
FALL_FLOOR_K_PER_S = 0.5
RISE_FLOOR_K_PER_S = 2.0
# Where nothing has been learned, no less than this, 50 K in ten seconds: a sensor in sight of an open coil
# rises by more than four times what its nameplate says.
RISE_FLOOR_GUESSED_K_PER_S = 5.0
# A fibre furnace with a slow sensor that is cut at 60 degC goes on rising for 333 s at worst
# (tests/bench/first_heats.py); what has been learned knows its own coast.
# Behind a muffle it was 833 s at worst (of twelve of another build, cut at 32 degC), elsewhere less than 480.
COAST_FLOOR_S, COAST_FLOOR_GUESSED_S, COAST_FLOOR_HIDDEN_S = 180.0, 480.0, 1200.0
# Elements in sight of the charge, or in the stream of air; where nobody has said, they may be hidden.
IN_SIGHT = ("open", "fan")
# Margins on what a model says: a nameplate is good to a factor of two, a fit to a fifth.
FALL_MARGIN, RISE_MARGIN_LEARNED, RISE_MARGIN_GUESSED = 3.0, 2.0, 4.0
# A learned oven may coast twice as far as its model from full heat, and as far as no door makes it jump.
COAST_MARGIN, COAST_FLOOR_K = 2.0, 15.0
# Heat that nothing explains, as a share of full power: no less than this is judged, nor less than a quarter
# and a tenth more than the learning heat showed; but never more than a relay that sticks shows in a soak.
UNEXPLAINED, SEEN_MARGIN, SEEN_MORE, UNEXPLAINED_MOST = 0.35, 1.25, 0.1, 0.75
COASTS = 8  # places between room and limit where a coast is drawn
COAST_STEPS = 90  # of ten seconds
STILL_RISES_K = 2.0


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Limits of one oven. K and seconds of the heat; `unexplained` is a fraction of full power.

    `fall_k_per_s` is three times the fastest fall of the shut oven, `rise_k_per_s` what full heat cannot
    exceed; `excess_of_heat` and `missing_of_heat` are shares of the heat asked by which supply and model may
    be wrong: the limit where that is more. `coast_s` is how long a temperature may go on rising after the
    heat was cut and `coast_k` by how much (infinite where the oven is not learned); `remembered_s` how
    long the balance of heat remembers what was asked, whoever steers; `same_count_s` how long a sound count
    may stand still before the heat is nudged.
    """

    model: OvenModel
    learned: bool
    fall_k_per_s: float
    rise_k_per_s: float
    coast_s: float
    coast_k: float = inf
    remembered_s: float = COAST_FLOOR_S
    over_k: float = 15.0
    over_s: float = 3.0
    unexplained: float = UNEXPLAINED
    unexplained_s: float = 20.0
    excess_of_heat: float = 0.75
    missing_of_heat: float = 0.45
    same_count_s: float = 120.0
    door_s: float = 120.0
    supply_v: float | None = None

    @staticmethod
    def of(oven: Oven, model: OvenModel | None = None, longest_same_count_s: float = 0.0) -> "Thresholds":
        """Return the limits of an oven: from its learned model, or its nameplate's with wider margins.

        `longest_same_count_s` is the longest run of one and the same raw count seen at commissioning.
        """
        learned = model is not None
        model = model if model is not None else nameplate(oven)
        rise, fall, coast_s, coast_k = _fastest(model, oven.limit_c, oven.ambient_c)
        if model.bound is not None:
            # What coasts further and explains the learning heat nearly as well may be the oven.
            _, _, longer_s, further_k = _fastest(model.bound, oven.limit_c, oven.ambient_c)
            coast_s, coast_k = max(coast_s, longer_s), max(coast_k, further_k)
        margin = RISE_MARGIN_LEARNED if learned else RISE_MARGIN_GUESSED
        # By what each heat shows: in pulses, cut where the learning heat never was.
        steers, by_model = learned and model.steers, oven.controller == "model"
        guessed_s = COAST_FLOOR_GUESSED_S if oven.elements in IN_SIGHT else COAST_FLOOR_HIDDEN_S
        rise_floor = RISE_FLOOR_K_PER_S if learned else RISE_FLOOR_GUESSED_K_PER_S
        return Thresholds(
            model=model,
            learned=learned,
            fall_k_per_s=max(FALL_MARGIN * fall * (1.0 if learned else 2.0), FALL_FLOOR_K_PER_S),
            rise_k_per_s=max(margin * rise, rise_floor),
            coast_s=max(2.0 * coast_s, COAST_FLOOR_S if steers and by_model else guessed_s),
            remembered_s=max(2.0 * coast_s, COAST_FLOOR_S if steers else guessed_s),
            coast_k=COAST_MARGIN * coast_k + COAST_FLOOR_K if learned else inf,
            unexplained=max(UNEXPLAINED, min(SEEN_MARGIN * model.unexplained + SEEN_MORE, UNEXPLAINED_MOST)),
            same_count_s=max(120.0, 5.0 * longest_same_count_s),
            supply_v=oven.supply_v,
        )

    def shown(self) -> tuple[str, ...]:
        """Return the limits as lines for a person."""
        source = "from the learned oven" if self.learned else "from the nameplate: the oven is not learned"
        return (
            f"limits {source}",
            f"over the plan by {self.over_k:g} K for {self.over_s:g} s: heat off",
            f"falling faster than {self.fall_k_per_s:.2f} K/s for ten seconds: door or sensor",
            f"rising faster than {self.rise_k_per_s:.2f} K/s: no oven can, the sensor is wrong",
            f"heat that nothing explains above {self.unexplained:.0%} of full power for "
            f"{self.unexplained_s:g} s: heat off" + ("" if self.learned else " (only once learned)"),
            f"at high duty: {self.excess_of_heat:.0%} of the heat asked for, {self.missing_of_heat:.0%} "
            "where heat is missing, more in a coast; a supply 10 % off and a model 20 % off look like that",
            f"rising {self.coast_s:g} s after the heat was cut: heat off",
            f"the same reading for {self.same_count_s:g} s: the heat is nudged to test the sensor",
        )


@lru_cache(maxsize=64)
def _fastest(model: OvenModel, limit_c: float, ambient_c: float) -> tuple[float, float, float, float]:
    """Return fastest rise and fall (K/s over 10 s) of a model, shut and empty, and its coast in s and K.

    The coast is the largest of a few on the way up: a sensor is slowest cold, where nothing glows.
    """
    state, rise, coast_s, coast_k, next_c = at_rest(ambient_c), 0.0, 0.0, 0.0, ambient_c
    for _ in range(2000):
        before_c = sensor_c(state)
        state = advance(model, state, 1.0, ambient_c, 10.0)
        rise = max(rise, (sensor_c(state) - before_c) / 10.0)
        if sensor_c(state) >= next_c:
            _, long_s, far_k = _coast(model, state, ambient_c)
            coast_s, coast_k = max(coast_s, long_s), max(coast_k, far_k)
            next_c = sensor_c(state) + (limit_c - ambient_c) / COASTS
        # A sensor behind a muffle does not rise at all in its first seconds: that is no oven at its height.
        stands = sensor_c(state) - before_c < 0.01 and sensor_c(state) > ambient_c + STILL_RISES_K
        if sensor_c(state) >= limit_c or stands:
            break
    fall, from_top_s, from_top_k = _coast(model, state, ambient_c)
    return rise, fall, max(coast_s, from_top_s), max(coast_k, from_top_k)


def _coast(model: OvenModel, state: OvenState, ambient_c: float) -> tuple[float, float, float]:
    """Return fastest fall (K/s), and how long (s) and how far (K) the sensor rises once the heat is cut.

    A coast is over where the sensor has still to rise by no more than `rising_while_off` allows.
    """
    course_c = [sensor_c(state)]
    for _ in range(COAST_STEPS):
        state = advance(model, state, 0.0, ambient_c, 10.0)
        course_c.append(sensor_c(state))
    fall, top_c = max(a - b for a, b in pairwise(course_c)) / 10.0, max(course_c)
    rising = course_c[: course_c.index(top_c)]
    return max(fall, 0.0), 10.0 * sum(top_c - c > STILL_RISES_K for c in rising), top_c - course_c[0]
