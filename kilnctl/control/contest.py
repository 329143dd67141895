"""Does the learned model still fit? Noticed, said, and when it misleads, set aside."""

from kilnctl.control.look import ControlInput
from kilnctl.model.filter import OvenFilter

# Mean squared innovation over its prediction beyond which the model misleads, and for how long. A fresh
# model stays below 5; the model of another oven of the same kind, still usable, reached 90.
_LOST = 100.0
_LOST_S = 180.0
# Scale factors beyond which the oven has changed, in logarithms (1.25, 6 %), and how sure we must be.
_LAG_LOG = 0.223
_POWER_LOG = 0.06
_SURE_SDS = 2.0
_HEATED_S = 600.0


class Contest:
    """Watches the filter of the model path through one heat."""

    def __init__(self, learned: bool) -> None:
        self._learned = learned
        self._bad_s = self._heated_s = 0.0
        self.lost = False
        self.note = ""

    def see(self, filter_: OvenFilter, look: ControlInput) -> None:
        """Judge once a tick. A model that is lost stays lost for this run."""
        self._heated_s += look.dt_s if look.heat_wanted else 0.0
        bad = filter_.surprise > _LOST and not filter_.shaken
        self._bad_s = self._bad_s + look.dt_s if bad else 0.0
        if self._bad_s > _LOST_S and not self.lost:
            self.lost = True
            self.note = "the model does not fit this heat; PID has taken over. Learn the oven again"
        elif self.sure and not self.note:
            self.note = self._changed(filter_)

    @property
    def sure(self) -> bool:
        """True where this heat may say something of a learned oven: long enough, and the model not lost."""
        return self._learned and not self.lost and self._heated_s > _HEATED_S

    @staticmethod
    def noticed(filter_: OvenFilter) -> tuple[bool, bool]:
        """Return whether sensor lag and heater power differ so far that the oven has changed."""
        lag, power, _ = filter_.logs
        lag_sd, power_sd, _ = filter_.learnt_sd
        return abs(lag) > _LAG_LOG + _SURE_SDS * lag_sd, abs(power) > _POWER_LOG + _SURE_SDS * power_sd

    def _changed(self, filter_: OvenFilter) -> str:
        lag, _, _ = filter_.logs
        lag_noticed, power_noticed = self.noticed(filter_)
        if lag_noticed:
            slower = "slower" if lag > 0 else "faster"
            return (
                f"the sensor answers {slower} than when the oven was learned "
                f"(lag x {filter_.scale()[0]:.2f}); "
                "look at its sheath and place. This heat already reckons with it"
            )
        if power_noticed:
            return (
                f"the heater gives {filter_.scale()[1]:.0%} of the power that was learned; look at supply "
                "voltage and elements. This heat already reckons with it"
            )
        return ""
