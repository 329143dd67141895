"""Control without a model: creep to the goal, then a PI by what the pulses showed.

For the first heat of an oven that nobody has learned, for PID without settings, and for a contested model.

One that is hot already and near its goal does not creep: a slow PI holds it from the start.

The PI takes its settings from rise and lag that this heat has shown (textbook rule for an integrating
process, `pid_tuning.simc`) and is fed with the temperature to which the reading would coast. Its integral is
what holds the reading, told by the balance of heat.
"""

from kilnctl.config.oven import Oven
from kilnctl.control.control_io import ControlInput
from kilnctl.control.creep import Creep
from kilnctl.control.pid import MAX_DT_S, Gains, Pid
from kilnctl.control.pid_tuning import simc
from kilnctl.control.settling import LATE_S, Course
from kilnctl.model.oven_model import holding_duty, nameplate

# Further below its set-point than this, or than this share of the way, an oven creeps; nearer the PI lifts
# and holds it. A hold that has begun goes on to twice as far.
_CREEP_K, _CREEP_SHARE, _AGAIN = 20.0, 0.06, 2.0
# The first dose is this share of what the nameplate's chamber takes for the whole way: a light oven may need
# a third of that for all of it, or less.
_FIRST_DOSE = 0.15
# Apparent dead time as a share of the mean lag (half rule for a chain of lags), and SIMC's closed-loop time
# as a multiple of that: its tight end, because the PI is fed with the coast.
_DEAD_SHARE, _GENTLE = 0.5, 1.0
# Of what the last pulses needed to keep the reading so much is taken to begin with: a wall drinks ever less.
# More of it where the last pulse had no look.
_HELD_SHARE, _UNLOOKED_SHARE = 0.7, 0.85
# No more of a gap than this is shown to the PI; further off its integral goes faster.
_SHOWN_GAP_K = 30.0
_MOST_AHEAD = 0.9
# An oven that is warmer than the room by so much falls by itself, and on a way that is shorter than this a
# pulse is lost in its fall: it is held from the start, by settings that suit any oven. A closed loop bears a
# gain of one over what the oven rises by between full heat and the sensor's answer (SIMC): 40 K where the
# elements are in sight, twice as much elsewhere. The slope is taken over so long; while the reading stands
# still beside its set-point the integral goes faster, by this factor.
_WARM_K, _SHORT_WAY_K = 30.0, 100.0
_OPEN, _HIDDEN, _SLOPE_S, _STILL = Gains(1.0 / 40.0, 600.0), Gains(1.0 / 80.0, 900.0), 80.0, 3.0
# A soak that stays on one side of its set-point by more than this (K) drifts: walls drink ever less. Its
# integral goes faster by once in so many seconds, up to this many times, until the reading crosses over.
_ASIDE_K, _ASIDE_S, _QUICKEST = 0.5, 240.0, 4.0
# Of what holds it by its nameplate so much is given at once.
_HELD_GUESS = 0.3


class FirstHeat:
    """Creep, ramp and hold without a model. One per run.

    `mode` is "approach" while a pulse heats, "look" in its pause, else "ramp" or "hold".
    """

    def __init__(self, oven: Oven) -> None:
        self._oven, model = oven, nameplate(oven)
        heats_s_per_k = model.element + model.face + model.load
        self._model = model
        self._careful_gains = _OPEN if oven.elements == "open" else _HIDDEN
        hidden = oven.elements not in ("open", "fan")
        self._creep, self._course, self._pid = Creep(_FIRST_DOSE * heats_s_per_k, hidden), Course(), Pid()
        self.mode = "off"
        self._steers, self._careful_to_c = False, -1e9
        self._asked = self._lately = self._holds = 0.0
        self._taken: float | None = None
        self._side, self._aside_s = 0, 0.0

    def take_over(self, duty: float) -> None:
        """Go on from a duty (0..1) that has kept the oven where it is."""
        self._taken = duty

    def step(self, look: ControlInput, heat: float) -> float:
        """Return the duty for the coming tick; `heat` (0..1) is what flowed since the last. Sets `mode`."""
        dt_s = min(look.dt_s, MAX_DT_S)
        self._course.see(look.process_c, dt_s)
        self._lately += (self._asked - self._lately) * dt_s / (dt_s + self._creep.lag_s + 1.0)
        self._asked = self._asks(look, heat, dt_s)
        return self._asked

    def _asks(self, look: ControlInput, heat: float, dt_s: float) -> float:
        if self.mode == "off":
            self._creep.forget(rests=not self._warm(look))
        if not look.heat_wanted or look.setpoint_c is None:
            self.mode, self._steers, self._careful_to_c = "off", False, -1e9
            return 0.0
        ramp = look.setpoint_rate_c_per_h is not None and look.segment_kind in ("ramp", "cool")
        goal_c = look.goal_c if ramp and look.goal_c is not None else look.setpoint_c
        if not self._creeps(look, look.setpoint_c, goal_c, ramp):
            self.mode = "ramp" if ramp else "hold"
            return self._steer(look, look.setpoint_c, dt_s)
        heats = self._creep.asks(self._course, goal_c, heat, dt_s)
        self.mode, self._steers = "approach" if heats else "look", False
        return float(heats)

    def _warm(self, look: ControlInput) -> bool:
        return look.process_c > self._oven.ambient_c + _WARM_K

    def _creeps(self, look: ControlInput, setpoint_c: float, goal_c: float, ramp: bool) -> bool:
        creep, gap_k = self._creep, setpoint_c - look.process_c
        if creep.busy:
            return True
        if creep.shown is None:
            if self._warm(look) and goal_c - look.process_c < _SHORT_WAY_K:
                self._careful_to_c = goal_c
            careful = goal_c <= self._careful_to_c or look.segment_kind == "cool"
            return not careful and goal_c > look.process_c
        near_k = max(_CREEP_K, _CREEP_SHARE * (setpoint_c - self._oven.ambient_c))
        creep.stuck = creep.stuck and gap_k > near_k
        return not ramp and not creep.stuck and gap_k > (_AGAIN * near_k if self._steers else near_k)

    def _steer(self, look: ControlInput, setpoint_c: float, dt_s: float) -> float:
        creep, course = self._creep, self._course
        if creep.shown is None:
            return self._hold_carefully(look, setpoint_c, dt_s)
        lag_s = creep.lag_s + self._oven.switching.window_s / 2 + LATE_S
        dead_s = _DEAD_SHARE * lag_s
        gains = simc(creep.gives, dead_s, _GENTLE * dead_s)
        coasts_c = course.mean_c + lag_s * course.slope
        aim_c = _aim_c(look, setpoint_c, lag_s)
        far = aim_c - coasts_c > _SHOWN_GAP_K
        gap_k = min(aim_c - coasts_c, _SHOWN_GAP_K)
        if not self._steers:
            self._steers = True
            self._holds = (_UNLOOKED_SHARE if creep.unlooked else _HELD_SHARE) * creep.held
            self._lately = self._holds + course.slope / creep.gives
        still = look.segment_kind == "soak" and _stands(gains, setpoint_c - course.mean_c, course.slope)
        quicker = self._quicker(look, setpoint_c - course.mean_c, dt_s)
        if not look.door_open:
            self._balance(dt_s, gains.integral_s / (quicker * (_STILL if far or still else 1.0)))
        rises = look.setpoint_rate_c_per_h or 0.0 if look.segment_kind == "ramp" else 0.0
        ahead = min(rises / 3600.0 / creep.gives, _MOST_AHEAD)
        return min(max(self._holds + gains.duty_per_k * gap_k + ahead, 0.0), 1.0)

    def _quicker(self, look: ControlInput, off_k: float, dt_s: float) -> float:
        """Return how many times faster the integral goes where a soak stays on one side of its set-point."""
        side = (off_k > _ASIDE_K) - (off_k < -_ASIDE_K)
        if look.segment_kind != "soak" or look.door_open or side * self._side < 0:
            self._aside_s = 0.0
        elif side:
            self._aside_s += dt_s
        self._side = side or self._side
        return min(1.0 + self._aside_s / max(_ASIDE_S, 2.0 * self._creep.lag_s), _QUICKEST)

    def _balance(self, dt_s: float, over_s: float) -> None:
        """Follow what holds the reading: the heat that was asked of late, less what went into the rise.

        Where nothing is cut off that is the integral of a PI (both are 1 / gain of what is off). Told what
        was left of it after the cut it cannot wind up, and no noise at full heat holds it down: a weak oven
        sat 8 K low.
        """
        holds = self._lately - self._course.slope / self._creep.gives
        self._holds += (holds - self._holds) * min(dt_s / over_s, 1.0)
        self._holds = min(max(self._holds, 0.0), _MOST_AHEAD)

    def _hold_carefully(self, look: ControlInput, setpoint_c: float, dt_s: float) -> float:
        """Return the duty by a PI that suits an oven of which nothing is known."""
        gains, off_k = self._careful_gains, setpoint_c - self._course.mean_c
        if not self._steers:
            self._steers = True
            self._course.over(_SLOPE_S)
            guess = _HELD_GUESS * holding_duty(self._model, setpoint_c, self._oven.ambient_c)
            held = guess if self._taken is None else self._taken
            self._taken = None
            self._pid.hand_over(held + gains.duty_per_k * off_k, off_k, gains)
        soon_k = gains.integral_s * self._course.slope
        if _stands(gains, off_k, self._course.slope):
            gains = Gains(gains.duty_per_k, gains.integral_s / _STILL)
        # A reading that soon arrives by itself needs no more heat than it has.
        waits = look.door_open or 0.0 < off_k < soon_k
        return self._pid.step(setpoint_c, setpoint_c - off_k, dt_s, gains, freeze=waits)


def _stands(gains: Gains, off_k: float, slope: float) -> bool:
    """Return whether the reading stands still beside its set-point: the integral may go faster then."""
    return abs(off_k) > gains.integral_s * abs(slope) / 2


def _aim_c(look: ControlInput, setpoint_c: float, ahead_s: float) -> float:
    """Return the set-point that far ahead, where the profile says it."""
    if look.setpoint_rate_c_per_h is None and look.segment_kind != "soak":
        return setpoint_c
    seen_c = look.preview(ahead_s)
    return setpoint_c if seen_c is None else seen_c
