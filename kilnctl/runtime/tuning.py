"""The learning heat-up as a job like any other: same runner, same interlocks, another hand on the duty."""

from kilnctl.config.oven import Oven
from kilnctl.control.learning import LearningState, advance_learning, plan_learning
from kilnctl.control.look import ControlInput, ControlOutput
from kilnctl.profile.segments import Profile
from kilnctl.units import say_point


class Learner:
    """Stands where the controller stands: full power with pauses, until enough has been seen."""

    def __init__(self, oven: Oven) -> None:
        """Raises RunRefused for an oven file without a usable tune_ceiling."""
        self._plan = plan_learning(oven)
        self.state = LearningState()

    def step(self, look: ControlInput) -> ControlOutput:
        """Return the duty of the learning heat-up; `ending` says when nothing more is to be heated."""
        state = advance_learning(self._plan, self.state, look.process_c, look.dt_s, look.door_open)
        self.state = state
        ending = "complete" if state.phase == "done" else state.why
        return ControlOutput(state.duty, f"learning: {state.phase}", ending=ending)


def tune_profile(oven: Oven) -> Profile:
    """Return the profile of a learning heat-up. Raises RunRefused for an oven file without a tune_ceiling."""
    ceiling_c = plan_learning(oven).ceiling_c
    heat = {
        "kind": "ramp",
        "to": f"{ceiling_c!r} C",
        "purpose": "tune",
        "label": "learning heat-up",
        "reason": f"full power with pauses, always below {say_point(ceiling_c)}",
        "source": "the ceiling is the oven file's",
    }
    return Profile.model_validate({"name": f"learn {oven.name}", "oven": oven.name, "segment": (heat,)})
