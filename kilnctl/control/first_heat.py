"""Control without a model: creep to the goal, then a PI by what the pulses showed.

For the first heat of an oven that nobody has learned, for PID without settings, and for a contested model.

One that is hot already and near its goal does not creep: a slow PI holds it from the start.

The PI (`coast_pi`) takes its settings from rise and lag that this heat has shown.
"""

from kilnctl.config.oven import Oven
from kilnctl.control.coast_pi import STILL, CoastPi, stands_still
from kilnctl.control.control_io import ControlInput
from kilnctl.control.creep import Creep
from kilnctl.control.own_swing import OwnSwing
from kilnctl.control.pid import MAX_DT_S, Gains, Pid
from kilnctl.control.pid_tuning import tangent
from kilnctl.control.settling import COURSE_LATE_S, Course
from kilnctl.model.drying import BOILS_C, STANDS_TO_C
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel, holding_duty
from kilnctl.units import say_point

# Further below its set-point than this, or than this share of the way, an oven creeps; nearer the PI lifts
# and holds it. A hold that has begun goes on to twice as far.
_CREEP_K, _CREEP_SHARE, _AGAIN = 20.0, 0.06, 2.0
# The first dose is this share of what the nameplate's chamber takes for the whole way: a light oven may need
# a third of that for all of it, or less.
_FIRST_DOSE = 0.15
# Of what the last pulses needed to keep the reading so much is taken to begin with: a wall drinks ever less.
# More of it where the last pulse had no look.
_HELD_SHARE, _UNLOOKED_SHARE = 0.7, 0.85
# An oven that is warmer than the room by so much may fall by itself, and a red-hot one does, by more than its
# warmth is more: on a way shorter than the square of its warmth by this, and than the other, a pulse is lost
# in its fall. It is held from the start, by settings that suit any oven: a closed loop bears a gain of one
# over what the oven rises by between full heat and the sensor's answer (SIMC): 40 K where the elements are in
# sight, twice as much elsewhere. The slope is taken over so long.
# At 150 degC it does not, and what is in it still comes: held so, late ovens passed 218 by 16 K.
_WARM_K, _FALLS_BY_K, _SHORT_WAY_K = 30.0, 4400.0, 100.0
_OPEN, _HIDDEN, _SLOPE_S = Gains(1.0 / 40.0, 600.0), Gains(1.0 / 80.0, 900.0), 80.0
# Of what holds it by its nameplate so much is given at once.
_HELD_GUESS = 0.3
# How a learned oven answers is asked anew at places so far apart.
_PLACE_C = 50.0
# How long the rest of a creep takes: no less than full heat by what the pulses gave, and no more than so many
# times that and so much more (s): of eight ovens all 293 looks at 218 degC lay between.
_SLOWEST_CREEP, _ARRIVES_S = 4.0, 900.0
# What swings by itself gets a window twice as long, and no longer than this, so that a slow current comes
# all the way; and a kelvin asks half the heat from then on. No half of a swing is shorter than this share of
# the lag.
_LONGER, _LONG_S, _TAMER, _SHARE_OF_LAG = 2.0, 30.0, 2.0, 0.5
# The mean lag of a chain of lags is about twice its apparent dead time (half rule).
_LAG_OF_DEAD = 2.0


class FirstHeat:
    """Creep, ramp and hold without a model. One per run.

    `mode` is "approach" while a pulse heats, "look" in its pause, else "ramp" or "hold"; `note` says what a
    person should know of this heat. `window_s` is the switching window that it wants, None for
    the oven file's own.
    """

    def __init__(self, oven: Oven) -> None:
        self._ambient_c, self._window_s, model = oven.ambient_c, oven.switching.window_s, nameplate(oven)
        heats_s_per_k = model.element + model.face + model.load
        self._model = model
        self._careful_gains = _OPEN if oven.elements == "open" else _HIDDEN
        hidden = oven.elements not in ("open", "fan")
        self._creep, self._course, self._pid = Creep(_FIRST_DOSE * heats_s_per_k, hidden), Course(), Pid()
        self.mode, self.note = "off", ""
        self._pi, self._swing = CoastPi(), OwnSwing()
        self._tamer = 1.0
        self.window_s: float | None = None
        self._steers, self._careful_to_c = False, -1e9
        self._asked = self._late_s = 0.0
        self._taken: float | None = None
        self._by_door = False
        self._learned, self._pulsed_to_c = False, -1e9
        self._answers: dict[int, tuple[float, float]] = {}

    def know(self, model: OvenModel) -> None:
        """Take what the learning heat has shown, where its model is not to be steered by: no more creeping.

        One pulse goes nearly all the way, cut by the coasts that were seen; the PI takes over at once.
        """
        self._model, self._learned = model, bool(model.coasts)
        self._creep.know(model.coasts)

    def take_over(self, duty: float) -> None:
        """Go on from a duty (0..1) that has kept the oven where it is."""
        self._taken = duty

    @property
    def creeps(self) -> bool:
        """True while it heats in pulses, or watches what one of them brings."""
        return self.mode in ("approach", "look") and not self._learned

    @property
    def careful(self) -> bool:
        """True while an oven that came warm is held by settings that suit any oven."""
        unknown = self._creep.shown is None and not self._learned
        return unknown and self._steers and self.mode in ("ramp", "hold")

    def way_s(self, gap_k: float) -> tuple[float, float] | None:
        """Return the shortest and the longest that so far a way may take, None before a pulse has told."""
        if self._creep.gives <= 0.0:
            return None
        full_s = max(gap_k, 0.0) / self._creep.gives
        return full_s, _SLOWEST_CREEP * full_s + _ARRIVES_S

    def creep_over_water(self, model: OvenModel) -> None:
        """Take what a learned oven gives and how late it is, where its reading stands over water.

        The water hides heat that comes when it is gone, so the way is crept however short it is, and each
        pulse gives no more than lifts the dry oven to its goal.
        """
        self._model = model
        gives, dead_s = self._answer_at(BOILS_C[1])
        self._creep.know_water(gives, _LAG_OF_DEAD * dead_s, STANDS_TO_C)

    def step(self, look: ControlInput, heat: float) -> float:
        """Return the duty for the coming tick; `heat` (0..1) is what flowed since the last. Sets `mode`."""
        dt_s = MAX_DT_S if look.dt_s > MAX_DT_S else look.dt_s
        self._course.see(look.process_c, dt_s)
        self._pi.asked(self._asked, self._late_s, dt_s)
        self._asked = self._asks(look, heat, dt_s)
        return self._asked

    def _asks(self, look: ControlInput, heat: float, dt_s: float) -> float:
        if self.mode == "off":
            self._creep.forget(rests=not self._warm(look))
        if not look.heat_wanted or look.setpoint_c is None:
            if look.door_open and self._steers and self.mode == "hold" and self._pi.begun:
                self._taken, self._by_door = self._pi.held_before, True
            self.mode, self._steers, self._careful_to_c = "off", False, -1e9
            return 0.0
        ramp = look.setpoint_rate_c_per_h is not None and look.segment_kind in ("ramp", "cool")
        goal_c = look.goal_c if ramp and look.goal_c is not None else look.setpoint_c
        if not self._creeps(look, look.setpoint_c, goal_c, ramp):
            self.mode = "ramp" if ramp else "hold"
            return self._steer(look, look.setpoint_c, dt_s)
        self._late_s = self._creep.lag_s
        heats = self._creep.asks(self._course, goal_c, heat, dt_s)
        if self._creep.stood_at_c is not None and not self.note:
            self.note = _drying(self._creep.stood_at_c)
        self._pulsed_to_c, self._taken = goal_c, None
        self.mode, self._steers = "approach" if heats else "look", False
        return float(heats)

    def _warm(self, look: ControlInput) -> bool:
        return look.process_c > self._ambient_c + _WARM_K

    def _short_way_k(self, reads_c: float) -> float:
        """Return on how short a way a pulse is lost in the oven's own fall."""
        return min((reads_c - self._ambient_c) ** 2 / _FALLS_BY_K, _SHORT_WAY_K)

    def _creeps(self, look: ControlInput, setpoint_c: float, goal_c: float, ramp: bool) -> bool:
        creep, gap_k = self._creep, setpoint_c - look.process_c
        if creep.pulse is not None:
            return True
        near_k = _CREEP_SHARE * (setpoint_c - self._ambient_c)
        near_k = near_k if near_k > _CREEP_K else _CREEP_K
        if self._learned:
            return not ramp and goal_c != self._pulsed_to_c and gap_k > near_k
        if creep.shown is None:
            if self._warm(look) and goal_c - look.process_c < self._short_way_k(look.process_c):
                self._careful_to_c = goal_c
            careful = goal_c <= self._careful_to_c or look.segment_kind == "cool"
            return not careful and goal_c > look.process_c
        creep.stuck = creep.stuck and gap_k > near_k
        return not ramp and not creep.stuck and gap_k > (_AGAIN * near_k if self._steers else near_k)

    def _steer(self, look: ControlInput, setpoint_c: float, dt_s: float) -> float:
        creep, course = self._creep, self._course
        if creep.shown is None and not self._learned:
            return self._hold_carefully(look, setpoint_c, dt_s)
        gives, self._late_s = self._answer_at(setpoint_c) if self._learned else (creep.gives, creep.lag_s)
        if not self._steers:
            self._steers, self._swing = True, OwnSwing()
            after_door, self._by_door = self._by_door and self._taken is not None, False
            self._pi.begin(self._held(setpoint_c), course.slope, gives, after_door)
        self._tame(course.slope, dt_s)
        gives *= self._tamer
        lag_s = self._late_s + self._window_s / 2.0 + COURSE_LATE_S
        pulse = None if self._learned else creep.pulsed
        return self._pi.step(look, course.mean_c, course.slope, setpoint_c, gives, lag_s, dt_s, pulse)

    def _tame(self, slope: float, dt_s: float) -> None:
        """Be gentler with a hold that swings by itself, once."""
        window_s, lag_s = self._window_s, self._late_s
        shortest_s = max(window_s, _SHARE_OF_LAG * lag_s)
        if self._tamer > 1.0 or not self._swing.see(slope * lag_s, shortest_s, dt_s):
            return
        self._tamer = _TAMER
        if _LONGER * window_s <= _LONG_S:
            self._window_s = self.window_s = _LONGER * window_s

    def _held(self, setpoint_c: float) -> float:
        """Return what is taken to hold the reading when the PI begins."""
        if self._taken is not None:
            held, self._taken = self._taken, None
            return held
        if self._learned:
            return min(holding_duty(self._model, setpoint_c, self._ambient_c), 1.0)
        return (_UNLOOKED_SHARE if self._creep.unlooked else _HELD_SHARE) * self._creep.held

    def _answer_at(self, at_c: float) -> tuple[float, float]:
        """Return what a second of full heat gives, in K, and the dead time in s: the learned oven's."""
        key = round(at_c / _PLACE_C)
        if key not in self._answers:
            self._answers[key] = tangent(self._model, max(key * _PLACE_C, 60.0), self._ambient_c)
        return self._answers[key]

    def _hold_carefully(self, look: ControlInput, setpoint_c: float, dt_s: float) -> float:
        """Return the duty by a PI that suits an oven of which nothing is known."""
        gains, off_k = self._careful_gains, setpoint_c - self._course.mean_c
        if not self._steers:
            self._steers = True
            self._course.over(_SLOPE_S)
            guess = _HELD_GUESS * holding_duty(self._model, setpoint_c, self._ambient_c)
            held = guess if self._taken is None else self._taken
            self._taken = None
            self._pid.hand_over(held + gains.duty_per_k * off_k, off_k, gains)
        soon_k = gains.integral_s * self._course.slope
        if stands_still(gains, off_k, self._course.slope):
            gains = Gains(gains.duty_per_k, gains.integral_s / STILL)
        # A reading that soon arrives by itself needs no more heat than it has.
        waits = look.door_open or 0.0 < off_k < soon_k
        return self._pid.step(setpoint_c, setpoint_c - off_k, dt_s, gains, freeze=waits)


def _drying(stood_c: float) -> str:
    """Return what is said of a reading that stood under full heat; empty where water does not boil."""
    if not BOILS_C[0] <= stood_c <= STANDS_TO_C:
        return ""
    return (
        f"drying: the reading stood near {say_point(stood_c)} under full heat, as it does while water "
        "boils off (damp lining, sand or charge). Keep clear of the steam; the heat continues by itself"
    )
