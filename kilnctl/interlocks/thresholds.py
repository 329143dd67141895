"""The limits of the interlocks of one oven: from what was learned of it, with floors, and shown."""

from dataclasses import dataclass
from functools import lru_cache
from math import inf

from kilnctl.config.oven import Oven
from kilnctl.model.oven_model import OvenModel, OvenState, advance, at_rest, nameplate, sensor_c

# Moves slower than these are never judged: noise and quantisation of a healthy sensor over ten seconds.
FALL_FLOOR_K_PER_S = 0.5
RISE_FLOOR_K_PER_S = 2.0
# A fibre furnace with a slow sensor that is cut at 60 degC goes on rising for 333 s at worst
# (tests/bench/first_heats.py); what has been learned knows its own coast.
COAST_FLOOR_S, COAST_FLOOR_GUESSED_S = 180.0, 480.0
# Margins on what a model says: a nameplate is good to a factor of two, a fit to a fifth.
FALL_MARGIN, RISE_MARGIN_LEARNED, RISE_MARGIN_GUESSED = 3.0, 2.0, 4.0
# A learned oven may coast twice as far as its model from full heat, and as far as no door makes it jump.
COAST_MARGIN, COAST_FLOOR_K = 2.0, 15.0
COASTS = 8  # places between room and limit where a coast is drawn


@dataclass(frozen=True, slots=True)
class Thresholds:
    """Limits of one oven. K and seconds of the heat; `unexplained` is a fraction of full power.

    `fall_k_per_s` is three times the fastest fall of the shut oven, `rise_k_per_s` what full heat cannot
    exceed; `excess_of_heat` and `missing_of_heat` are shares of the heat asked by which supply and model may
    be wrong: the limit where that is more. `coast_s` is how long a temperature may go on rising after the
    heat was cut and `coast_k` by how much (infinite where the oven is not learned); `same_count_s` how long
    a sound count may stand still before the heat is nudged.
    """

    model: OvenModel
    learned: bool
    fall_k_per_s: float
    rise_k_per_s: float
    coast_s: float
    coast_k: float = inf
    over_k: float = 15.0
    over_s: float = 3.0
    unexplained: float = 0.35
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
        margin = RISE_MARGIN_LEARNED if learned else RISE_MARGIN_GUESSED
        return Thresholds(
            model=model,
            learned=learned,
            fall_k_per_s=max(FALL_MARGIN * fall * (1.0 if learned else 2.0), FALL_FLOOR_K_PER_S),
            rise_k_per_s=max(margin * rise, RISE_FLOOR_K_PER_S),
            coast_s=max(2.0 * coast_s, COAST_FLOOR_S if learned else COAST_FLOOR_GUESSED_S),
            coast_k=COAST_MARGIN * coast_k + COAST_FLOOR_K if learned else inf,
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
            f"at high duty {self.excess_of_heat:.0%} of the heat asked instead, {self.missing_of_heat:.0%} "
            "where heat is missing, more in a coast: supply 10 % and model 20 % off explain as much",
            f"rising {self.coast_s:g} s after the heat was cut: heat off",
            f"one and the same count for {self.same_count_s:g} s: the heat is nudged to test the sensor",
        )


@lru_cache(maxsize=64)
def _fastest(model: OvenModel, limit_c: float, ambient_c: float) -> tuple[float, float, float, float]:
    """Return fastest rise and fall (K/s over 10 s) of a model, shut and empty, and its coast in s and K.

    The coast in seconds is the one from the top; in K the largest of a few on the way up.
    """
    state, rise, coast_k, next_c = at_rest(ambient_c), 0.0, 0.0, ambient_c
    for _ in range(2000):
        before_c = sensor_c(state)
        state = advance(model, state, 1.0, ambient_c, 10.0)
        rise = max(rise, (sensor_c(state) - before_c) / 10.0)
        if sensor_c(state) >= next_c:
            coast_k = max(coast_k, _coast(model, state, ambient_c)[2])
            next_c = sensor_c(state) + (limit_c - ambient_c) / COASTS
        if sensor_c(state) >= limit_c or sensor_c(state) - before_c < 0.01:
            break
    fall, coast_s, from_top_k = _coast(model, state, ambient_c)
    return rise, fall, coast_s, max(coast_k, from_top_k)


def _coast(model: OvenModel, state: OvenState, ambient_c: float) -> tuple[float, float, float]:
    """Return fastest fall (K/s), and how long (s) and how far (K) the sensor rises once the heat is cut."""
    start_c, fall, coast_s, top_c = sensor_c(state), 0.0, 0.0, sensor_c(state)
    for i in range(60):
        before_c = sensor_c(state)
        state = advance(model, state, 0.0, ambient_c, 10.0)
        fall = max(fall, (before_c - sensor_c(state)) / 10.0)
        coast_s = 10.0 * (i + 1) if sensor_c(state) > before_c else coast_s
        top_c = max(top_c, sensor_c(state))
    return fall, coast_s, top_c - start_c
