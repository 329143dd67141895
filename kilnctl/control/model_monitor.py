"""Does the learned model still fit? Noticed, said, and when it misleads, set aside."""

import math

from kilnctl.control.control_io import ControlInput
from kilnctl.control.lag_or_power import Cause, LagOrPower, SecondLook
from kilnctl.model.drying import BOILS_C, EDGE_S, Boiling
from kilnctl.model.filter import OvenFilter
from kilnctl.values import value

# Mean squared innovation over its prediction beyond which the model misleads, and for how long. A fresh
# model stays below 5; the model of another oven of the same kind, still usable, reached 90.
_LOST = 100.0
_LOST_S = 180.0
# Mean squared innovation over its prediction: ovens of another build on a ramp, a slow sensor, a damp lining
# come to 1.6 at most, a small oven behind the file of a furnace to 2.6.
_ASTONISHED = 2.0
# A learned model that needs half or twice the heater, or a sensor several times as slow, is another oven's.
_OTHER_POWER, _OTHER_LAG = 0.7, 1.6
# Logarithms of lag and power beyond which the oven has changed, and how sure we must be: beside what is usual
# of this oven (13 %, 6 %), and beside its model alone (1.25, 6 %).
_LIKE_LAG, _LAG, _POWER = 0.12, 0.223, 0.06
_SURE_SDS = 2.0
_HEATED_S = 600.0
# How often it is asked whether there is something to say.
_ASK_S = 10.0
# What the second look must find at least of its cause; of a power that nobody noticed before it more.
# No heater gets stronger by itself: what only the second look takes for that is the model's own error, unless
# it is much (0.15 on a muffle).
_LEAST_LAG, _LEAST_POWER, _ALONE_POWER, _ALONE_STRONGER = 0.10, 0.06, 0.10, 0.17
# Nor does a sensor get quicker by itself (x 0.76 on a muffle), but one that was found slower may be mended.
_QUICKER = 0.35
# A second look that draws the heat as well without any change (each by so much at most) has found none: the
# filter of a muffle took half of its bias for a quicker sensor (lag x 0.66).
_SAME_LAG, _SAME_POWER = 0.05, 0.02
_MISFIT = "the model does not fit this heat; PID has taken over"
# A model that never drew its oven further up is no change of the oven, and learning it again no remedy.
_AS_LEARNED = (
    f"{_MISFIT}. The oven warmed up as when it was learned; what comes later the model does not know. The "
    "heat continues by itself"
)
_DRIES = (
    "drying: the reading stands as it does while water boils off (damp lining, sand or charge), which the "
    "model does not know; PID has taken over. Keep clear of the steam; the heat continues by itself"
)


@value
class ModelFinding:
    """Logarithms of sensor lag and heater power against the day of learning, and their standard deviations.

    `like` where they come from a heat like the learning heat, and its own bias is taken off. `verdict` is
    the second look's, None before it and where there is none; `anew` where this heat started from the model
    as it was learned, not from a change that an earlier heat found.
    """

    lag: float
    power: float
    lag_sd: float
    power_sd: float
    like: bool = False
    verdict: LagOrPower | None = None
    anew: bool = True

    @property
    def lag_beyond(self) -> float:
        """Return the lag's logarithm as a part of what it may be: above 1 the oven has changed."""
        return abs(self.lag) / ((_LIKE_LAG if self.like else _LAG) + _SURE_SDS * self.lag_sd)

    @property
    def power_beyond(self) -> float:
        """Return the same of the heater's power."""
        return abs(self.power) / (_POWER + _SURE_SDS * self.power_sd)

    @property
    def cause(self) -> Cause | None:
        """Return what has changed, None where nothing has. Only the second look names one of the two."""
        verdict, noticed = self.verdict, self._noticed
        if verdict is None:
            # What a warm oven still held comes early, and passes for a quicker sensor (a retort: lag x 0.6).
            early = self.anew and self.lag < 0.0 and self.lag_beyond > 1.0
            return "unclear" if noticed and not early else None
        if abs(verdict.lag) < _SAME_LAG and abs(verdict.power) < _SAME_POWER:
            return None
        alone = _ALONE_STRONGER if verdict.power > 0.0 else _ALONE_POWER
        if verdict.cause == "power" and abs(verdict.power) > (_LEAST_POWER if noticed else alone):
            return "power"
        if not noticed or not self._borne_out(verdict):
            return None
        # A sensor alone leaves the heater as strong as it was.
        weaker = self.power < 0.0 and self.power_beyond > 1.0
        alone_slower = self._same_lag(verdict) and abs(self.lag) > _LEAST_LAG and not weaker
        return "lag" if verdict.cause == "lag" and alone_slower and verdict.shows_lag else "unclear"

    @property
    def _noticed(self) -> bool:
        return max(self.lag_beyond, self.power_beyond) > 1.0

    @property
    def as_learned(self) -> bool:
        """True where neither the filter nor the second look found a change: what misleads is the model."""
        return self.verdict is not None and not self._noticed and self.cause is None

    def _borne_out(self, verdict: LagOrPower) -> bool:
        """Return whether the second look finds what was noticed, at least by one of the two names.

        A filter that misses its own learning heat by a lag of 0.4 came to a slower sensor and a stronger
        heater; drawn as a whole the same heat took a quicker sensor, or a heater 9 % stronger.
        """
        slower = self._same_lag(verdict) and abs(verdict.lag) > _LEAST_LAG
        return slower or verdict.power < -_LEAST_POWER or verdict.power > _ALONE_STRONGER

    def _same_lag(self, verdict: LagOrPower) -> bool:
        """Return whether filter and second look find the sensor changed alike, a quicker one by much."""
        quicker = self.anew and self.lag < 0.0 and max(self.lag, verdict.lag) > -_QUICKER
        return self.lag * verdict.lag > 0.0 and not quicker

    @property
    def heater(self) -> float:
        """Return the logarithm of the heater's power: the second look's where it named the heater."""
        return self.verdict.power if self.verdict is not None and self.cause == "power" else self.power

    def words(self) -> str:
        """Say what has changed; empty where nothing has."""
        lag, power = f"{math.exp(self.lag):.2f}", f"{math.exp(self.heater):.2f}"
        match self.cause:
            case None:
                return ""
            case "lag":
                slower = "slower" if self.lag > 0 else "faster"
                return (
                    f"the sensor answers {slower} than when the oven was learned (lag x {lag}); "
                    "look at its sheath and place. This heat already allows for it"
                )
            case "power":
                return (
                    f"the heater gives {math.exp(self.heater):.0%} of the power that was learned, or that "
                    "much is lost through the door; check supply voltage, elements and door seal. This heat "
                    "already allows for it"
                )
        return (
            f"a slower or faster sensor (lag x {lag}) or a weaker or stronger heater (power x {power}) than "
            "when the oven was learned: look at sensor, supply voltage, elements and door seal; this heat "
            "does not show which, so nothing is kept for the next"
        )


class Contest:
    """Watches the filter of the model path through one heat. `lost` where it misleads, `dries` by water."""

    def __init__(
        self, filter_: OvenFilter, learned: bool, ambient_c: float = 20.0, anew: bool = True
    ) -> None:
        self._filter, self._learned, self._anew = filter_, learned, anew
        self._second = SecondLook(filter_.base, ambient_c)
        self._bad_s = self._heated_s = self._ask_s = 0.0
        self._straight = True
        self._from_c: float | None = None
        self._like: ModelFinding | None = None
        self.lost = self.dries = False
        self.note = ""
        self._surprised = 1.0
        self._boiling = Boiling(EDGE_S)

    def see(self, look: ControlInput, full: bool, heat: float) -> None:
        """Judge once a tick; `full` while full heat is asked. A model that is lost stays lost.

        `heat` (0..1) is what flowed since the last tick.
        """
        self._heated_s += look.dt_s if look.heat_wanted else 0.0
        if self._looks_twice and self._heated_s > 0.0:
            self._second.see(look, heat)
        if self._heated_s > 0.0 and self._straight:
            self._straight = full and self._compare(look.process_c)
        surprise = self._filter.surprise
        self._surprised = surprise if surprise > self._surprised else self._surprised
        lag, power, _ = self._filter.logs
        likely = -_OTHER_POWER < power < _OTHER_POWER and -_OTHER_LAG < lag < _OTHER_LAG
        bad = (self._learned and not likely) or (surprise > _LOST and not self._filter.shaken)
        self._bad_s = self._bad_s + look.dt_s if bad else 0.0
        if full and look.process_c <= BOILS_C[1] and self._boils(look) and not self.lost:
            self.lost = self.dries = True
            self.note = _DRIES
        elif (self._bad_s > _LOST_S or self._filter.diverged) and not self.lost:
            self.lost = True
            as_learned = self._looks_twice and self.finding.as_learned
            self.note = _AS_LEARNED if as_learned else f"{_MISFIT}. Learn the oven again"
        elif self._heated_s >= self._ask_s and self.sure and not self.note:
            self._ask_s = self._heated_s + _ASK_S
            # Nothing is said while the second look is still to come: half of it would have to be taken back.
            self.note = "" if self._looks_twice and not self._second.over else self.finding.words()

    def _boils(self, look: ControlInput) -> bool:
        return self._boiling.see(look.process_c, look.goal_c, look.dt_s) and self.astonished

    @property
    def _looks_twice(self) -> bool:
        """True where the warming up can be drawn again: a learned oven, from cold."""
        return self._learned and self._filter.cold

    @property
    def astonished(self) -> bool:
        """True where this heat has surprised its model as only another oven does.

        A sound oven that is built as no model knows may show half its lag on a ramp, without a surprise.
        """
        return self._surprised > _ASTONISHED

    @property
    def sure(self) -> bool:
        """True where this heat may say something of a learned oven: long enough, and the model not lost."""
        return self._learned and not self.lost and self._heated_s > _HEATED_S

    @property
    def finding(self) -> ModelFinding:
        """Return what this heat has found so far; a comparison of like with like stands."""
        (lag, power, _), (lag_sd, power_sd, _) = self._filter.logs, self._filter.learnt_sd
        found = self._like or ModelFinding(lag, power, lag_sd, power_sd)
        own = found.lag, found.power, found.lag_sd, found.power_sd, found.like
        return ModelFinding(*own, self._second.verdict, self._anew)

    def _compare(self, process_c: float) -> bool:
        """Compare with the learning heat while this one, on full heat from cold too, comes as far.

        Return whether it goes on; a heat that is cut before has to have come half as far. The filter's bias
        belongs to the oven and to the way it is heated: it is another on a ramp or from warm.
        """
        usual = self._filter.base.usual
        if usual is None or not self._filter.cold:
            return False
        if self._from_c is None:
            self._from_c = process_c
        if process_c - self._from_c > (usual.at_c - self._from_c) / 2:
            (lag, power, _), (lag_sd, power_sd, _) = self._filter.logs, self._filter.learnt_sd
            self._like = ModelFinding(lag - usual.lag, power - usual.power, lag_sd, power_sd, True)
        return process_c < usual.at_c
