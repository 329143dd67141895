"""The learning heat-up as a job like any other: same runner, same interlocks, another hand on the duty."""

from dataclasses import replace

from kilnctl.config.oven import Oven
from kilnctl.control.control_io import ControlInput, ControlOutput
from kilnctl.learning.identification_run import LearningState, advance_learning, plan_learning
from kilnctl.profile.segments import Profile
from kilnctl.quantities import Reckoned
from kilnctl.units import say_point

# Measured power beside the file's: an element may draw 10 % less than its plate says (IEC 60335-1 allows +5
# and -10 %; from memory), volts that are not measured may be 10 % off, the current sensor 5 %.
_POWER_OFF = 1.35
# Judged once, by the mean over so long, after the element has been on for so long.
_MEAN_S, _WARM_S = 60.0, 20.0


class Learner:
    """Stands where the controller stands: full power with pauses, until enough has been seen."""

    def __init__(self, oven: Oven) -> None:
        """Raises RunRefused for an oven file without a usable tune_ceiling."""
        self._plan = plan_learning(oven)
        self._power_w, self._drawn_j, self._drawn_s = oven.power_w, 0.0, 0.0
        self.state = LearningState()

    def step(self, look: ControlInput) -> ControlOutput:
        """Return the duty of the learning heat-up; `ending` says when nothing more is to be heated."""
        state = advance_learning(self._plan, self.state, look.process_c, look.dt_s, look.door_open)
        why = self._another_power(look, state)
        self.state = state = replace(state, phase="failed", duty=0.0, why=why) if why else state
        ending = "complete" if state.phase == "done" else state.why
        return ControlOutput(state.duty, f"learning: {state.phase}", ending=ending)

    def _another_power(self, look: ControlInput, state: LearningState) -> str:
        """Return why the file's power cannot be true; empty where it can, or nothing measures it.

        No temperature shows it: an oven of twice the power, mass and loss warms up alike.
        """
        judged = self._drawn_s >= _MEAN_S
        if judged or state.phase != "heat" or state.phase_s < _WARM_S or look.heater_w is None:
            return ""
        self._drawn_j += look.heater_w * look.dt_s
        self._drawn_s += look.dt_s
        drawn_w = self._drawn_j / self._drawn_s
        if self._drawn_s < _MEAN_S or 1 / _POWER_OFF <= drawn_w / self._power_w <= _POWER_OFF:
            return ""
        return (
            f"the element draws {drawn_w:.0f} W, the oven file says {self._power_w:.0f} W; correct power or "
            "supply in the file, or look for a dead element"
        )


def tune_profile(oven: Oven) -> Profile:
    """Return the profile of a learning heat-up. Raises RunRefused for an oven file without a tune_ceiling."""
    ceiling_c = plan_learning(oven).ceiling_c
    heat = {
        "kind": "ramp",
        "to": Reckoned(ceiling_c),
        "purpose": "tune",
        "label": "learning heat-up",
        "reason": f"full power with pauses, always below {say_point(ceiling_c)}",
        "source": "the ceiling is the oven file's",
    }
    return Profile.model_validate({"name": f"learn {oven.name}", "oven": oven.name, "segment": (heat,)})
