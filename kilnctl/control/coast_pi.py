"""A PI that is fed with the temperature to which the reading would coast: it needs no model of the oven.

Two figures of the oven are enough: what a second of full heat lifts it by, and how late its reading is. The
settings are the textbook's for an integrating process (`pid_tuning.simc`); the integral is what holds the
reading, told by the balance of heat.

Bounds are compared by hand: eight calls of min() and max() took a twentieth of a tick.
"""

import math
from typing import NamedTuple

from kilnctl.control.control_io import ControlInput
from kilnctl.control.pid import Gains
from kilnctl.control.pid_tuning import simc

# Apparent dead time as a share of the mean lag (half rule for a chain of lags), and SIMC's closed-loop time
# as a multiple of that: its tight end, because the PI is fed with the coast.
_DEAD_SHARE, _GENTLE = 0.5, 1.0
# No more of a gap than this is shown to the PI; further off its integral goes faster.
_SHOWN_GAP_K = 30.0
_MOST_AHEAD = 0.9
# While the reading stands still beside its set-point the integral goes faster, by this factor.
STILL = 3.0
# A soak that stays on one side of its set-point by more than this (K) drifts: walls drink ever less. Its
# integral goes faster by once in so many seconds, up to this many times, until the reading crosses over.
_ASIDE_K, _ASIDE_S, _QUICKEST = 0.5, 240.0, 4.0

# A slow rise is paid for at twice what full heat lifted the reading by in the last pulse, losses and all (as
# if half of it had held the oven), and a fifth of full power at most is taken to go into it. Its slope is the
# mean of so long: of noise only the half that goes up would count (a stone floor was held 2.4 K low).
_SLOWLY, _SLOWLY_MOST, _SLOWLY_S = 2.0, 0.2, 120.0


class LongPulse(NamedTuple):
    """What a pulse shows in which an oven lost much of its heat.

    `lifts` is what a second of full heat lifted the reading by in the end, losses and all (K). `settles_s` is
    the time in which the reading answers all that it does at once (infinite where that is not known).
    """

    lifts: float
    settles_s: float = math.inf


class CoastPi:
    """Ramp and hold by what an oven gives and how late it answers. One per run.

    `begun` until `forget`: its integral stands. `lately` is the duty that was asked of late.
    """

    def __init__(self) -> None:
        self.begun = False
        self.lately = self._holds = 0.0
        self._side, self._aside_s, self._creeps = 0, 0.0, 0.0
        self._cut_off = False
        # What held before a door, until the reading is back; whether it still sinks, or comes by itself.
        self._before: float | None = None
        self._sinks = self._comes = False
        self._shut_s, self._asked_in = 0.0, False
        self._gains = Gains(0.0, 0.0)
        self._gains_for: tuple[float, float] | None = None

    @property
    def holds(self) -> float:
        """Return the heat (0..1) that is taken to hold the reading."""
        return self._holds

    @property
    def held_before(self) -> float:
        """Return the same, or where a door has disturbed it what held before."""
        return self._holds if self._before is None else self._before

    def asked(self, duty: float, lag_s: float, dt_s: float) -> None:
        """Take what was asked for dt_s, by whomever."""
        self.lately += (duty - self.lately) * dt_s / (dt_s + lag_s + 1.0)

    def begin(self, holds: float, slope: float, gives: float, after_door: bool = False) -> None:
        """Begin with what is taken to hold the reading, which moves by `slope` K/s now.

        `after_door`: so much held it before a door.
        """
        self.begun, self._holds, self._cut_off = True, holds, False
        self._before = None
        if after_door:
            self._disturb(holds)
        self.lately, self._creeps = holds + slope / gives, slope

    def shift(self, duty: float) -> None:
        """Take what holds the reading as so much more: walls are known to drink more, or less."""
        self._holds += duty
        if self._before is not None:
            self._before += duty

    def forget(self) -> None:
        """Drop the integral: heat off, or full heat."""
        self.begun = False

    def step(
        self,
        look: ControlInput,
        reads_c: float,
        slope: float,
        setpoint_c: float,
        gives: float,
        lag_s: float,
        dt_s: float,
        pulse: LongPulse | None = None,
    ) -> float:
        """Return the duty. `reads_c` is smoothed, `slope` its K/s, `gives` K for a second of full heat.

        `pulse` is what the last pulse showed of an oven that loses most of its heat, where one did.
        """
        if (gives, lag_s) != self._gains_for:  # as seldom as a pulse shows something
            dead_s = _DEAD_SHARE * lag_s
            self._gains, self._gains_for = simc(gives, dead_s, _GENTLE * dead_s), (gives, lag_s)
        gains = self._gains
        coasts_c = reads_c + lag_s * slope
        aim_c = _aim_c(look, setpoint_c, lag_s)
        off_k = aim_c - coasts_c
        soaks, moves = look.segment_kind == "soak", look.segment_kind == "ramp" and look.setpoint_rate_c_per_h
        still = soaks and stands_still(gains, setpoint_c - reads_c, slope)
        quicker = self._quicker(look, setpoint_c - reads_c, lag_s, dt_s)
        waits = self._cut_off and reads_c < setpoint_c
        if look.door_open or self._asked_in or self._before is not None or not soaks:
            self._see_door(look)
            waits = self._waits_for_charge(off_k, reads_c - setpoint_c, slope, lag_s, dt_s) or waits
            if self._before is not None and self._shut_s < lag_s and slope < 0.0:
                # What falls so soon is the air's, or a cut's: it is not carried on (a current passed by 7 K).
                off_k = aim_c - reads_c
        self._creeps += (slope - self._creeps) * dt_s / (dt_s + _SLOWLY_S)
        if not look.door_open and not waits:
            over_s = gains.integral_s / (quicker * (STILL if off_k > _SHOWN_GAP_K or still else 1.0))
            rises = slope / gives
            if pulse is not None:
                soonest_s = pulse.settles_s if pulse.settles_s > lag_s else lag_s
                over_s = soonest_s if soonest_s < over_s else over_s
                creeps = slope if slope < self._creeps else self._creeps
                rises = _creeps_up(rises, creeps, pulse) if creeps > 0.0 and off_k > 0.0 else rises
            self._balance(rises, dt_s, over_s)
        # A ramp that ends before its heat is seen needs the less of it: one of 30 K passed its goal by 15.
        rises = aim_c - setpoint_c if moves else 0.0
        ahead = rises / lag_s / gives if rises > 0.0 else 0.0
        ahead = _MOST_AHEAD if ahead > _MOST_AHEAD else ahead
        shown_k = _SHOWN_GAP_K if off_k > _SHOWN_GAP_K else off_k
        duty = self._holds + gains.duty_per_k * shown_k + ahead
        self._cut_off = duty < 0.0
        return 0.0 if duty < 0.0 else 1.0 if duty > 1.0 else duty

    def _see_door(self, look: ControlInput) -> None:
        """Take note of a door, and of a step that asked a person to the oven, while the set-point stays."""
        asks = look.segment_kind == "operator"
        if look.door_open or (self._asked_in and not asks):
            self._disturb(self.held_before)
        self._asked_in = asks
        if not (asks or _stays(look)):
            self._before = None

    def _waits_for_charge(
        self, off_k: float, above_k: float, slope: float, lag_s: float, dt_s: float
    ) -> bool:
        """Return whether the integral waits after a door: what held before it holds after it.

        While the reading sinks, or before it can, heat goes into what came in; once its coast reaches the
        goal that heat comes back. Told that the oven loses it, a tray of sand passed by 8 K. Between the two
        it may find a loss.
        """
        if self._before is None:
            return False
        self._shut_s += dt_s
        self._sinks = self._sinks and (slope < 0.0 or self._shut_s < lag_s)
        if self._sinks:
            return True
        if off_k < 0.0 and not self._comes:
            self._comes = True
            self._holds = self._before if self._before < self._holds else self._holds
        if self._comes and (off_k >= 0.0 or above_k > 0.0 or slope < 0.0):
            self._before = None
        return self._comes and self._before is not None

    def _disturb(self, before: float) -> None:
        """Take note of a door: so much held the reading before it."""
        self._before, self._sinks, self._comes, self._shut_s = before, True, False, 0.0

    def _quicker(self, look: ControlInput, off_k: float, lag_s: float, dt_s: float) -> float:
        """Return how many times faster the integral goes where a soak stays on one side of its set-point."""
        side = (off_k > _ASIDE_K) - (off_k < -_ASIDE_K)
        if not _stays(look) or look.door_open or side * self._side < 0:
            self._aside_s = 0.0
        elif side:
            self._aside_s += dt_s
        self._side = side or self._side
        if not self._aside_s:
            return 1.0
        over_s = 2.0 * lag_s if 2.0 * lag_s > _ASIDE_S else _ASIDE_S
        quicker = 1.0 + self._aside_s / over_s
        return _QUICKEST if quicker > _QUICKEST else quicker

    def _balance(self, rises: float, dt_s: float, over_s: float) -> None:
        """Follow what holds the reading: the heat that was asked of late, less what went into the rise.

        Where nothing is cut off that is the integral of a PI (both are 1 / gain of what is off). Told what
        was left of it after the cut it cannot wind up, and no noise at full heat holds it down: a weak oven
        sat 8 K low. While a coast goes on below the set-point nothing is told.
        """
        share = dt_s / over_s
        holds = self._holds + (self.lately - rises - self._holds) * (1.0 if share > 1.0 else share)
        self._holds = 0.0 if holds < 0.0 else _MOST_AHEAD if holds > _MOST_AHEAD else holds


def _creeps_up(rises: float, slope: float, pulse: LongPulse) -> float:
    """Return the share of full power that goes into a slow rise towards the set-point.

    What lifts a chamber at once warms walls too where the rise is slow: a kelvin costs more.
    """
    slowly = slope / (_SLOWLY * pulse.lifts)
    slowly = _SLOWLY_MOST if slowly > _SLOWLY_MOST else slowly
    return slowly if slowly > rises else rises


def stands_still(gains: Gains, off_k: float, slope: float) -> bool:
    """Return whether the reading stands still beside its set-point: the integral may go faster then."""
    return abs(off_k) > gains.integral_s * abs(slope) / 2.0


def _stays(look: ControlInput) -> bool:
    """Return whether the set-point stays: in a soak, and on a ramp without a rate."""
    return look.segment_kind == "soak" or (look.segment_kind == "ramp" and look.setpoint_rate_c_per_h is None)


def _aim_c(look: ControlInput, setpoint_c: float, ahead_s: float) -> float:
    """Return the set-point that far ahead, where the profile says it."""
    if look.setpoint_rate_c_per_h is None and look.segment_kind != "soak":
        return setpoint_c
    seen_c = look.preview(ahead_s)
    return setpoint_c if seen_c is None else seen_c
