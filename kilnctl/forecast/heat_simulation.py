"""One heat as a model foresees it, step by step, under a controller that never overshoots."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from kilnctl.model import part as slab
from kilnctl.model.oven_model import OvenModel, OvenState, advance, at_rest
from kilnctl.profile.cursor import Cursor, Reply
from kilnctl.profile.cursor import advance as move
from kilnctl.profile.segments import Operator, Profile, goal_c

STEP_S = 20.0
LONGEST_S = 96 * 3600.0
_HOUR, _STANDS_K = 180, 0.05  # steps; what an oven of a day's time constant has left is a kelvin
_COLD_K = 10.0
# A free cooling ends between two steps: a furnace falls by 3 K in one, half an hour of a slow rate after it.
_PIECES = 10
# A person's step this long with the heat off is a cooling too.
_COOLING_S = 600.0
# No control lets a heat coast further past its goal; a coast is followed for ten minutes at most, in steps,
# while the sensor rises.
_PAST_K, _LONGEST_COAST = 3.0, 30


@dataclass(frozen=True, slots=True)
class SimulatedState:
    """Where a heat stands: the oven's temperatures, the place in the profile, the part where it is inside.

    `unknown` is heat into the chamber that the model does not know of, as a fraction of full power; it is
    taken to go on while there is a set-point that does not go down. `cooling` is the model that counts else,
    None for the same: what a heat-up hides as load is not there when the oven cools. `wall` is the oven as
    the fit with a recorded cooling holds it, of which wall and load count; None: as in `oven`.
    """

    oven: OvenState
    cursor: Cursor = field(default_factory=Cursor)
    part: slab.PartState | None = None
    unknown: float = 0.0
    cooling: OvenModel | None = None
    wall: OvenState | None = None


def resting(at_c: float, ambient_c: float) -> OvenState:
    """Return an oven that reads at_c, of which nothing else is known: cold, or its wall graded outwards."""
    return at_rest(at_c, None if abs(at_c - ambient_c) < _COLD_K else ambient_c)


def _behind(oven: OvenState, wall: OvenState) -> OvenState:
    """Return an oven with what another one stores behind the hot face: its wall, and its load."""
    walls = wall.wall_1_c, wall.wall_2_c, wall.wall_3_c, wall.wall_4_c
    return OvenState(oven.element_c, oven.face_c, *walls, wall.load_c, oven.sheath_c, oven.junction_c)


def wall_later(
    model: OvenModel, wall: OvenState, oven: OvenState, duty: float, ambient_c: float, dt_s: float
) -> OvenState:
    """Return the wall that a model holds, dt_s later, behind the hot face of another one's oven."""
    return advance(model, _behind(oven, wall), duty, ambient_c, dt_s)


class HeatSimulation:
    """A heat from a place in its profile to its end, at most four days, with all the power that it needs.

    `curve_c` holds what the sensor reads every 20 s, `ends_s` the seconds at which each segment was over,
    both from the beginning of the simulation. `waits_s` holds for each operator step how long a person
    takes, else it counts as answered at once.

    Where a cooling was recorded the oven has two fits: the first draws a heat-up best and hides the wall's
    heat as loss, the second (`OvenModel.cools`) knows the wall. The first heats until the oven has cooled
    once, the second goes on from there; its wall has stood behind the same hot face all the time.
    """

    def __init__(
        self,
        profile: Profile,
        model: OvenModel,
        ambient_c: float,
        start: SimulatedState,
        waits_s: Sequence[float | None] = (),
    ) -> None:
        self._profile, self._model, self._ambient_c, self._waits_s = profile, model, ambient_c, waits_s
        self._oven, self._cursor, self._part = start.oven, start.cursor, start.part
        self._unknown, self._cooling = start.unknown, start.cooling or model
        self._cools, self._wall = model.cools, start.wall or start.oven
        self._steel = slab.part_of(profile)
        self.curve_c = [start.oven.junction_c]
        self.ends_s: dict[int, float] = {}
        self.duty = 0.0
        self._full_since, self._stands = 0, False

    @property
    def segment(self) -> int:
        """Return the segment that runs, or the number of segments after the last."""
        return self._cursor.segment

    @property
    def oven(self) -> OvenState:
        """Return the oven as it is now."""
        return self._oven

    @property
    def part(self) -> slab.PartState | None:
        """Return the part as it is now, None where there is none or it is outside."""
        return self._part

    @property
    def complete(self) -> bool:
        """True when every segment came to its end."""
        return self._cursor.ending == "complete"

    @property
    def over(self) -> bool:
        """True at the end of the heat, after four days, or where full power brings nothing more."""
        return self._cursor.over or self._stands or len(self.curve_c) * STEP_S >= LONGEST_S

    def whole(self) -> "HeatSimulation":
        """Go to the end."""
        while not self.over:
            self.step()
        return self

    def step(self) -> None:
        """Go 20 s on."""
        pieces = _PIECES if self._about_to_be_cool() else 1
        at_s, dt_s = (len(self.curve_c) - 1) * STEP_S, STEP_S / pieces
        for piece in range(1, pieces + 1):
            if not self._cursor.over:
                self._go(at_s + piece * dt_s, dt_s)
        self.curve_c.append(self._oven.junction_c)
        self._look_whether_it_stands()

    def _look_whether_it_stands(self) -> None:
        """See an hour of full power that brought next to nothing: the goal is out of reach."""
        if self.duty < 1.0:
            self._full_since = len(self.curve_c)
        elif len(self.curve_c) - self._full_since >= _HOUR:
            self._stands = self.curve_c[-1] - self.curve_c[-_HOUR] < _STANDS_K
            self._full_since = len(self.curve_c)

    def _about_to_be_cool(self) -> bool:
        """Return whether a cooling with the heat off may end within this step."""
        segment = self._profile.segments[self._cursor.segment]
        if segment.kind != "cool" or segment.rate_c_per_h is not None or len(self.curve_c) < 2:
            return False
        before_c, now_c = self.curve_c[-2:]
        return now_c - segment.to_c < 2.0 * (before_c - now_c)

    def _go(self, until_s: float, dt_s: float) -> None:
        before, reads_c = self._cursor.segment, self._oven.junction_c
        self._part = self._part_later(before, reads_c, dt_s)
        core_c = None if self._part is None else self._part.core_c
        self._cursor = move(self._profile, self._cursor, reads_c, core_c, dt_s, self._answered(dt_s))
        for index in range(before, self._cursor.segment):
            self.ends_s.setdefault(index, until_s)
        self._hand_over()
        self.duty = self._duty()
        oven = self._later(self.duty, dt_s)
        if self._cools is not None:
            self._wall = wall_later(self._cools, self._wall, self._oven, self.duty, self._ambient_c, dt_s)
        self._oven = oven

    def _hand_over(self) -> None:
        """Go on by the fit that knows the wall, once the oven has begun to cool."""
        if self._cools is not None and self._cooled():
            self._oven = _behind(self._oven, self._wall)
            self._model = self._cooling = self._cools
            self._cools, self._unknown = None, 0.0

    def _cooled(self) -> bool:
        cursor = self._cursor
        long = cursor.setpoint_c is None and cursor.segment_s >= _COOLING_S
        return long or any(s.kind == "cool" for s in self._profile.segments[: cursor.segment + 1])

    def _answered(self, dt_s: float) -> Reply | None:
        """Return "done" once the person at an operator step has taken the time that is planned for it."""
        index = self._cursor.segment
        if not isinstance(self._profile.segments[index], Operator):
            return None
        wait_s = self._waits_s[index] if index < len(self._waits_s) else None
        return "done" if self._cursor.waited_s + dt_s >= (wait_s or 0.0) else None

    def _part_later(self, segment: int, chamber_c: float, dt_s: float) -> slab.PartState | None:
        """Return the part one step later, None where there is none or it is outside; put in, it is cold."""
        if self._steel is None or not slab.inside(self._profile, segment):
            return None
        part = self._part or slab.start(self._steel, self._ambient_c)
        return slab.advance(self._steel, part, chamber_c, dt_s)

    def _duty(self) -> float:
        """Return the duty that brings the sensor to the set-point in two steps, as far as there is power."""
        setpoint_c = self._cursor.setpoint_c
        if setpoint_c is None:
            return 0.0
        cold_c = self._later(0.0, 2 * STEP_S).junction_c
        hot_c = self._later(1.0, 2 * STEP_S).junction_c
        duty = min(max((setpoint_c - cold_c) / max(hot_c - cold_c, 1e-6), 0.0), 1.0)
        return 0.0 if duty > 0.0 and self._coasts_past(setpoint_c, duty) else duty

    def _coasts_past(self, setpoint_c: float, duty: float) -> bool:
        """Return whether one step more of heat brings a rising sensor past where the segment goes."""
        ends_c = max(setpoint_c, goal_c(self._profile.segments[self._cursor.segment]) or setpoint_c)
        if ends_c - self._oven.junction_c < _PAST_K:
            return False
        state, before_c, longest = self._later(duty, STEP_S), self._oven.junction_c, _LONGEST_COAST
        while longest and before_c < state.junction_c <= ends_c + _PAST_K:
            before_c, longest = state.junction_c, longest - 1
            state = advance(self._model, state, 0.0, self._ambient_c, STEP_S, self._unknown)
        return state.junction_c > ends_c + _PAST_K

    def _later(self, duty: float, dt_s: float) -> OvenState:
        if self._cools_now():
            return advance(self._cooling, self._oven, duty, self._ambient_c, dt_s)
        return advance(self._model, self._oven, duty, self._ambient_c, dt_s, self._unknown)

    def _cools_now(self) -> bool:
        """Return whether the heat is off, or the set-point goes down."""
        if self._cursor.setpoint_c is None:
            return True
        return not self._cursor.over and self._profile.segments[self._cursor.segment].kind == "cool"
