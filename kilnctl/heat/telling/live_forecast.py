"""The rest of a heat, foreseen anew while it runs: from where oven, part and profile stand now.

Some steps are made after each tick, so that no tick waits for them; a whole look ahead takes a minute or two.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from kilnctl.care.oven_knowledge import as_found
from kilnctl.config.oven import Oven
from kilnctl.control.heat_controller import HeatController
from kilnctl.forecast.band import POINTS, as_likely
from kilnctl.forecast.heat_simulation import STEP_S, HeatSimulation, SimulatedState, resting, wall_later
from kilnctl.heat.heat_state import Heat, HeatState
from kilnctl.heat.job import Job
from kilnctl.heat.telling.creep_words import keeps_up
from kilnctl.heat.telling.time_left import NO_FORECAST, RestOfHeat
from kilnctl.model.filter import OvenFilter
from kilnctl.model.oven_model import OvenModel, OvenState
from kilnctl.profile.segments import Profile

STEPS = 40  # after each tick: about a millisecond
# How often the wall that a recorded cooling has shown is moved on, behind the oven as the filter has it.
WALL_S = 10.0
WARM_K = 5.0  # a reading so far from the room's is that of an oven which is not cold
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Begun:
    """A look ahead: with which of the models, in which profile, from which second of the run on."""

    model: int
    profile: Profile
    at_s: float
    simulation: HeatSimulation


class LiveForecast:
    """Looks ahead; `forecast` is the last one.

    Without a learned model it is the nameplate's guess, whose band nobody knows: low and high are the middle.
    """

    def __init__(self, oven: Oven, job: Job, model: OvenModel) -> None:
        self._ambient_c, self._waits_s = oven.ambient_c, job.planned_s
        self._models = as_likely(model)
        self._looks: dict[int, Begun] = {}
        self._now: Begun | None = None
        self._turn = 0
        self._wall: OvenState | None = None
        self._walled_s = 0.0
        self._looked, self._keeps_up = False, True
        self.forecast = NO_FORECAST
        if job.resumes is None:  # else its place in the heat is not known yet
            self._from_cold(job)

    def _from_cold(self, job: Job) -> None:
        start = SimulatedState(resting(self._ambient_c, self._ambient_c))
        for number, model in enumerate(self._models):
            simulation = HeatSimulation(job.profile, model, self._ambient_c, start, self._waits_s).whole()
            self._looks[number] = Begun(number, job.profile, job.wait_s, simulation)
        self._join()

    def work(self, heat: Heat, now: HeatState) -> str:
        """Go on looking ahead, after a tick of a live run; return what is to be said of it, mostly nothing.

        Never raises: no heat may end by this.
        """
        try:
            self._work(heat, now)
        except Exception as e:  # whatever the reason: nothing is foreseen any more, and the heat goes on
            self._models, self.forecast = (), NO_FORECAST
            return f"the rest of the heat is no longer predicted ({type(e).__name__}: {e})"
        return ""

    def _work(self, heat: Heat, state: HeatState) -> None:
        if state.waiting or not self._models:
            return
        self._keeps_up = keeps_up(state, self._keeps_up)
        self._move_wall(heat, state)
        begun = (*self._looks.values(), self._now)
        if any(one.profile is not state.profile for one in begun if one) or self._begins_warm(state):
            self._forget()
        now = self._now = self._now or self._begin(heat, state)
        if now is None:
            return
        for _ in range(STEPS):
            if now.simulation.over:
                self._looks[now.model], self._now = now, None
                self._join()
                return
            now.simulation.step()

    def _move_wall(self, heat: Heat, now: HeatState) -> None:
        """Let the recorded cooling's wall follow the oven, as far as the heat's own filter knows it."""
        seen = _filter_of(heat)
        oven = None if seen is None else seen.state
        dt_s, cools = now.elapsed_s - self._walled_s, self._models[0].cools
        if cools is None or oven is None:
            self._wall, self._walled_s = None, now.elapsed_s
        elif self._wall is None:
            self._wall, self._walled_s = oven, now.elapsed_s
        elif dt_s >= WALL_S:
            self._wall = wall_later(cools, self._wall, oven, now.duty, self._ambient_c, dt_s)
            self._walled_s = now.elapsed_s

    def _begins_warm(self, now: HeatState) -> bool:
        """Return, once, whether the oven was not as cold as it was taken to be before it was looked at."""
        process_c = None if now.scan is None else now.scan.process.value
        if self._looked or process_c is None:
            return False
        self._looked = True
        return abs(process_c - self._ambient_c) > WARM_K

    def _forget(self) -> None:
        """What was foreseen is void: a person has changed the profile, or the oven was warm."""
        self._looks, self._now, self._turn, self.forecast = {}, None, 0, NO_FORECAST

    def _begin(self, heat: Heat, now: HeatState) -> Begun | None:
        """Begin with the model itself and one of those that draw the band, in turn; wait for a reading."""
        process_c = None if now.scan is None else now.scan.process.value
        if process_c is None or now.segment is None:
            return None
        number = self._number()
        model, place = self._as_it_stands(heat, now, self._models[number], process_c)
        simulation = HeatSimulation(now.profile, model, self._ambient_c, place, self._waits_s)
        return Begun(number, now.profile, now.elapsed_s, simulation)

    def _as_it_stands(
        self, heat: Heat, now: HeatState, model: OvenModel, process_c: float
    ) -> tuple[OvenModel, SimulatedState]:
        """Return a model with this heat's factors, and where the heat stands, as the control judges both.

        Where no model drives (PID, an instrument) only the reading is known of the oven. While one that is
        not learned keeps up with its rate, it goes on so: its power is a poor guess until then.
        """
        place = SimulatedState(resting(process_c, self._ambient_c), now.cursor, now.part)
        seen = _filter_of(heat)
        if seen is None or seen.state is None:
            return model, place
        place = replace(place, oven=seen.state)
        if not model.learned and self._keeps_up:
            return model, place
        place = replace(place, unknown=seen.unknown, cooling=model, wall=self._wall)
        return as_found(model, *seen.scale()), place

    def _number(self) -> int:
        """Return whose turn it is: the model's own in every other look, for it is the middle."""
        self._turn += 1
        draws = len(self._models) - 1
        return 1 + self._turn // 2 % draws if draws and self._turn % 2 == 0 else 0

    def _join(self) -> None:
        middle, others = self._looks[0], [self._looks[n] for n in sorted(self._looks)]
        times_s: Floats = middle.at_s + STEP_S * np.arange(len(middle.simulation.curve_c), dtype=np.float64)
        times_s = times_s[:: max(1, len(times_s) // POINTS)]
        curves = np.stack([_at(begun, times_s) for begun in others])
        if not np.isfinite(curves).all():
            raise ValueError("a predicted temperature is not a number")
        rows = zip(times_s, curves.min(axis=0), curves[0], curves.max(axis=0), strict=True)
        points = tuple((float(t), float(low), float(c), float(high)) for t, low, c, high in rows)
        ends_s = {n: middle.at_s + end_s for n, end_s in middle.simulation.ends_s.items()}
        self.forecast = RestOfHeat(points, ends_s)


def _filter_of(heat: Heat) -> OvenFilter | None:
    """Return what the control knows of the oven; None where no model drives, or it has lost its way."""
    controller = heat.station.controller
    if not isinstance(controller, HeatController) or controller.evidence.lost:
        return None
    path = controller.model_path
    return None if path is None else path.filter


def _at(begun: Begun, times_s: Floats) -> Floats:
    """Return a look's curve at times of the run; before its begin and after its end as it is there."""
    curve = begun.simulation.curve_c
    return np.interp(times_s, begun.at_s + STEP_S * np.arange(len(curve)), curve)
