"""How far a filter trusts its model of the oven: when it is learned, and when it is a nameplate's."""

from dataclasses import dataclass

# What a model misses of an oven keeps its sign for so long (as its fit takes it).
_KEEPS_SIGN_S = 120.0


@dataclass(frozen=True, slots=True)
class Trust:
    """How far the filter trusts its model.

    `lag_sd`, `power_sd`, `load_sd`: prior standard deviations of the logarithms of this heat's scale
    factors, 0 = not estimated. `drift_k` is the random walk of each temperature in K per square root of a
    second; `unknown_sd` and `unknown_rate` the prior of the unknown heat (fraction of full power) and its
    walk per square root of a second; it enters the chamber face, or with `in_element` the element. With
    `draught` the cold air that strikes the sensor after a door is estimated too.
    """

    lag_sd: float = 0.0
    power_sd: float = 0.0
    load_sd: float = 0.0
    drift_k: float = 0.02
    unknown_sd: float = 0.05
    unknown_rate: float = 0.002
    interval_s: float = 5.0
    in_element: bool = False
    draught: bool = False

    def misfits_k2(self, misfit_k: float) -> tuple[float, ...]:
        """Return by how much (K^2) readings err together for each quantity beside the temperatures.

        What a model misses of its own learning heat is no news of this heat's factors; nor is what changes of
        it within an interval heat from nowhere. A watchdog (`in_element`) takes every reading as it is.
        """
        known_k2 = 0.0 if self.in_element else misfit_k**2
        factors = [known_k2 for sd in (self.lag_sd, self.power_sd, self.load_sd) if sd > 0]
        draughts = [0.0] if self.draught else []
        return *factors, *draughts, known_k2 * self.interval_s / _KEEPS_SIGN_S

    def wanders_k2(self, misfit_k: float) -> float:
        """Return how far (K^2) a temperature walks in a second where a model misses so much (rms).

        What has this rms and keeps its sign for so long moves by twice its square over that time (first-order
        Gauss-Markov noise, textbook).
        """
        return self.drift_k**2 + 2.0 * misfit_k**2 / _KEEPS_SIGN_S


# This heat's scale factors: sensor and load may differ much from the day of learning, supply little.
TRUST = Trust(
    lag_sd=0.25,
    power_sd=0.04,
    load_sd=0.5,
    drift_k=0.02,
    unknown_sd=0.02,
    unknown_rate=4e-4,
    draught=True,
)
# An oven that is not learned yet: everything may differ by a factor of two.
GUESSED = Trust(
    lag_sd=0.7,
    power_sd=0.5,
    load_sd=0.9,
    drift_k=0.06,
    unknown_sd=0.08,
    unknown_rate=2e-3,
    draught=True,
)
