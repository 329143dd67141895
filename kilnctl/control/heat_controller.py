"""What duty now: the controller of one oven, called once a tick.

Three ways. The model path drives a learned oven. One that nobody has learned creeps (`first_heat`); so does
one whose file asks for PID, and it takes over when the model does not fit what is seen: it goes by nothing
but what the heat itself shows. Where the file gives PID settings of its own (zones), the PID path takes its
place. The watchdog's eye looks on, whichever drives.
"""

import math
from dataclasses import dataclass, replace

from kilnctl.config.oven import Oven
from kilnctl.control.control_io import ControlInput, ControlOutput
from kilnctl.control.first_heat import FirstHeat
from kilnctl.control.model_monitor import Contest
from kilnctl.control.model_path import ModelPath
from kilnctl.control.pid_path import PidPath
from kilnctl.control.pid_tuning import refuse_wild_gains
from kilnctl.model.observer import Observer
from kilnctl.model.oven_model import OvenModel
from kilnctl.model.soft_start import SoftStart
from kilnctl.readings import Unlike

SURE_SDS = 2.0

__all__ = ["ControlInput", "ControlOutput", "Evidence", "HeatController"]


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a heat has found out about its oven, beside the model that its control started from.

    Factors on sensor lag and heater power, what is usual of this oven taken off, with the standard
    deviations of their logarithms; `noticed` where the oven has changed, and in which of the two.
    `as_started` where the second look found the oven to be the model that control started from. `sure` is
    False for a heat that can say nothing: too short, an oven that is not learned, PID, or a model that was
    set aside (`lost`).
    """

    sure: bool = False
    lost: bool = False
    lag: float = 1.0
    power: float = 1.0
    lag_sd: float = 0.0
    power_sd: float = 0.0
    lag_noticed: bool = False
    power_noticed: bool = False
    as_started: bool = False


class HeatController:
    """Turns set-point and reading into duty. Holds the controller's memory; one per run."""

    def __init__(
        self,
        oven: Oven,
        model: OvenModel,
        learned: bool = False,
        start: OvenModel | None = None,
        foreseen: bool = True,
    ) -> None:
        """`start` is the model that control starts from where an earlier heat found the oven changed.

        `foreseen` where somebody looks ahead from `model_path`: only then does it follow a heat that it does
        not steer, which costs a third of a tick.

        The watchdog's eye keeps to `model`. Raises RunRefused where the oven file asks for PID with gains
        that the oven cannot bear.
        """
        if oven.zone:
            refuse_wild_gains(oven, model, learned)
        self._ambient_c = oven.ambient_c
        self._observer = Observer(model, oven.signal.door_open is not None) if learned else None
        steers = start if start is not None else model
        self._zoned = PidPath(oven, steers, learned) if oven.zone else None
        self.model_path = ModelPath(oven, steers, learned) if oven.controller == "model" else None
        filter_ = self.model_path.filter if self.model_path else None
        self._contest = Contest(filter_, learned, oven.ambient_c, steers == model) if filter_ else None
        self._first, self._soft_s = FirstHeat(oven), model.soft_s
        self._soft = SoftStart(model.soft_s) if model.soft_s else None
        self._steers = steers
        self._by_model, self._contested = learned and model.steers, False
        self._duty, self._foreseen = 0.0, foreseen

    @property
    def evidence(self) -> Evidence:
        """Return what this heat has found out about its oven so far."""
        contest = self._contest
        if contest is None:
            return Evidence()
        found = contest.finding
        factors = math.exp(found.lag), math.exp(found.heater)
        cause, sds = found.cause, (found.lag_sd, found.power_sd)
        as_started = cause is None and found.verdict is not None
        named = cause == "lag", cause == "power", as_started
        return Evidence(contest.sure, contest.lost, *factors, *sds, *named)

    @property
    def creep(self) -> FirstHeat | None:
        """Return what feels its way where no model steers, None while it does not."""
        by_model = self._by_model and not self._contested
        first = self._first
        return None if by_model or not (first.creeps or first.careful) else first

    @property
    def unlike(self) -> Unlike | None:
        """Return how far this heat's oven is from the learned one, None while nobody can say.

        That asks for a surprise too: a bias of the model looks like another oven to its own factors. A heat
        from warm begins with temperatures that nobody knows, which pass for a quicker sensor.
        """
        path, contest = self.model_path, self._contest
        if path is None or contest is None or not path.filter.cold:
            return None
        if not (contest.sure and contest.astonished):
            return None
        found = contest.finding
        lag, power = _surely(found.lag, found.lag_sd), _surely(found.heater, found.power_sd)
        if found.cause == "power":  # it explains the whole warming up: nothing is left for the sensor
            return Unlike(1.0, power, 0.0, found.power_beyond)
        return Unlike(lag, power, found.lag_beyond, found.power_beyond)

    def step(self, look: ControlInput) -> ControlOutput:
        """Return the duty for the coming tick. Called with good readings only."""
        heat = self._duty if look.heat_was_on is None else 1.0 if look.heat_was_on else 0.0
        # A duty that no relay makes flows as it is asked.
        if self._soft is not None and look.heat_was_on is not None:
            heat = self._soft.gives(heat, look.dt_s)
        seen = self._observer
        if seen is not None:
            asked = look.segment_kind == "operator"
            seen.step(look.process_c, heat, self._ambient_c, look.dt_s, look.door_open, asked)
            look = replace(look, door_open=True) if seen.struck else look
        duty, mode, note, window_s = self._drive(look, heat)
        duty = self._duty = look.most_duty if duty > look.most_duty else duty
        unexplained = None if seen is None else seen.unexplained
        return ControlOutput(duty, mode, unexplained, note, window_s, "", None, self._soft_s)

    def _drive(self, look: ControlInput, heat: float) -> tuple[float, str, str, float | None]:
        path, contest = self.model_path, self._contest
        if path is None or contest is None:
            duty, mode = self._by_pid(look, heat)
            return duty, mode, self._first.note, self._first.window_s
        if not self._by_model:
            if self._foreseen:
                path.see(look, heat)
            return self._first.step(look, heat), self._first.mode, self._first.note, self._first.window_s
        duty = path.step(look, heat)
        contest.see(look, path.mode == "approach", heat)
        if not contest.lost:
            return duty, path.mode, contest.note, path.window_s
        if not self._contested:
            self._contested = True
            if self._zoned is not None:
                self._zoned.take_over(self._duty, look)
            if contest.dries:
                self._first.creep_over_water(self._steers)
            else:
                self._first.know(self._steers)
            self._first.take_over(path.lately)
        return *self._by_pid(look, heat), contest.note, self._first.window_s

    def _by_pid(self, look: ControlInput, heat: float) -> tuple[float, str]:
        if self._zoned is not None:
            return self._zoned.step(look), self._zoned.mode
        return self._first.step(look, heat), self._first.mode


def _surely(log: float, sd: float) -> float:
    """Return a factor taken two standard deviations towards 1."""
    return math.exp(math.copysign(max(0.0, abs(log) - SURE_SDS * sd), log))
