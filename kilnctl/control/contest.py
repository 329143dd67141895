"""Does the learned model still fit? Noticed, said, and when it misleads, set aside."""

import math
from dataclasses import dataclass

from kilnctl.control.look import ControlInput
from kilnctl.model.filter import OvenFilter

# Mean squared innovation over its prediction beyond which the model misleads, and for how long. A fresh
# model stays below 5; the model of another oven of the same kind, still usable, reached 90.
_LOST = 100.0
_LOST_S = 180.0
# Logarithms of lag and power beyond which the oven has changed, and how sure we must be: beside what is usual
# of this oven (13 %, 6 %), and beside its model alone (1.25, 6 %).
_LIKE_LAG, _LAG, _POWER = 0.12, 0.223, 0.06
_SURE_SDS = 2.0
_HEATED_S = 600.0


@dataclass(frozen=True, slots=True)
class Finding:
    """Logarithms of sensor lag and heater power against the day of learning, and their standard deviations.

    `like` where they come from a heat like the learning heat, and its own bias is taken off.
    """

    lag: float
    power: float
    lag_sd: float
    power_sd: float
    like: bool = False

    @property
    def lag_beyond(self) -> float:
        """Return the lag's logarithm as a part of what it may be: above 1 the sensor has changed."""
        return abs(self.lag) / ((_LIKE_LAG if self.like else _LAG) + _SURE_SDS * self.lag_sd)

    @property
    def power_beyond(self) -> float:
        """Return the same of the heater's power."""
        return abs(self.power) / (_POWER + _SURE_SDS * self.power_sd)

    def words(self) -> str:
        """Say what has changed; empty where nothing has. Each looks a little like the other: one is named."""
        if max(self.lag_beyond, self.power_beyond) <= 1.0:
            return ""
        if self.lag_beyond > self.power_beyond:
            slower = "slower" if self.lag > 0 else "faster"
            return (
                f"the sensor answers {slower} than when the oven was learned "
                f"(lag x {math.exp(self.lag):.2f}, heater power x {math.exp(self.power):.2f}); look at its "
                "sheath and place. This heat already reckons with it"
            )
        return (
            f"the heater gives {math.exp(self.power):.0%} of the power that was learned; look at supply "
            "voltage and elements. This heat already reckons with it"
        )


class Contest:
    """Watches the filter of the model path through one heat."""

    def __init__(self, filter_: OvenFilter, learned: bool) -> None:
        self._filter, self._learned = filter_, learned
        self._bad_s = self._heated_s = 0.0
        self._straight = True
        self._from_c: float | None = None
        self._like: Finding | None = None
        self.lost = False
        self.note = ""

    def see(self, look: ControlInput, full: bool) -> None:
        """Judge once a tick; `full` while full heat is asked. A model that is lost stays lost."""
        self._heated_s += look.dt_s if look.heat_wanted else 0.0
        if self._heated_s > 0.0 and self._straight:
            self._straight = full and self._compare(look.process_c)
        bad = self._filter.surprise > _LOST and not self._filter.shaken
        self._bad_s = self._bad_s + look.dt_s if bad else 0.0
        if (self._bad_s > _LOST_S or self._filter.diverged) and not self.lost:
            self.lost = True
            self.note = "the model does not fit this heat; PID has taken over. Learn the oven again"
        elif self.sure and not self.note:
            self.note = self.found.words()

    @property
    def sure(self) -> bool:
        """True where this heat may say something of a learned oven: long enough, and the model not lost."""
        return self._learned and not self.lost and self._heated_s > _HEATED_S

    @property
    def found(self) -> Finding:
        """Return what this heat has found so far; a comparison of like with like stands."""
        (lag, power, _), (lag_sd, power_sd, _) = self._filter.logs, self._filter.learnt_sd
        return self._like or Finding(lag, power, lag_sd, power_sd)

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
            self._like = Finding(lag - usual.lag, power - usual.power, lag_sd, power_sd, True)
        return process_c < usual.at_c
