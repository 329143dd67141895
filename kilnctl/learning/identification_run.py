"""The heat-up from which an oven is learned: what duty now, when to pause, when it is done, when to stop.

Full power with pauses in which the oven coasts. The pauses show what the straight heat-up hides: how much
heat the element still holds when the power goes, how late the sensor is, how fast the wall drinks. No
device is touched here: the run drives this like any other profile, inside all interlocks.
"""

from dataclasses import dataclass, replace
from math import inf
from typing import Literal

from kilnctl.config.oven import Oven
from kilnctl.errors import RunRefused
from kilnctl.model.nameplate import nameplate
from kilnctl.units import say_duration, say_point

Phase = Literal["wait", "heat", "coast", "pulses", "after", "done", "failed"]

# Pauses at these shares of the way from room temperature to the ceiling; the last is the ceiling itself.
_SHARES = (0.15, 0.35, 0.65, 1.0)
# A slow oven has shown what it is at the third pause: the rest of the way takes longest and teaches least.
_SLOW_S = 75 * 60.0
_COLD_K = 15.0
# Watch the cold oven this long before any heat: it shows noise and drift of the sensor.
_WAIT_S = 30.0
# A pause ends when the oven has fallen this far below its peak, or has risen by no more than this in so long:
# a radiant tube crept on for 40 min, until the interlock took its relay for stuck.
_TURNED_K = 4.0
_TURNED_S, _CREEPS_K = 240.0, 1.0
_LAST_COAST_S = 900.0
# Last come short pulses, as a hold has them: a heater that starts softly gives little of them. Then the
# sensor is watched for as long as it took to turn after a cut, or so.
_PULSES_S, _PULSE_EVERY_S, _PULSE_S = 100.0, 10.0, 3.0
_AFTER_S, _AFTER_MOST_S = 180.0, 600.0
# The pulses begin this far below the ceiling, or not at all, and stop there.
_BELOW_CEILING_K, _STOPS_BELOW_K = 25.0, 12.0
# No heat-up of a sound oven is slower than this at full power.
_NO_HEAT_S = 420.0
_NO_HEAT_K = 4.0
# Once it has answered: slower than 24 K/h at full power an oven is at its end. Said before the interlock that
# asks for 2 K in ten minutes, so that a person reads a reason and not a trip.
_STALL_S = 300.0
_STALL_K = 2.0
# An oven at its end rose by less than this in the five minutes before it stood.
_SLOWED_K = 8.0
_COAST_LIMIT_S = 2400.0
_LONGEST_S = 5 * 3600.0
# A sensor that has not answered by so much when the chamber has had heat for so much is waited for:
# full heat meanwhile would end at the interlock that asks whether it sits in the oven at all.
_DEAF_K, _DOSE_K, _ANSWERED_K = 3.0, 60.0, 15.0
# The last cut leaves this times the largest coast seen, plus a few kelvin, to the ceiling.
_COAST_CAUTION = 1.6
_MARGIN_K = 5.0
_JUMP_K = 15.0


@dataclass(frozen=True, slots=True)
class LearningPlan:
    """Where the heat-up may go. `ceiling_c` comes from the oven file and is never passed.

    `dose_s` is the full heat after which a sensor that has not answered is waited for.
    """

    ceiling_c: float
    ambient_c: float
    limit_c: float
    dose_s: float = inf

    def pause_at_c(self, number: int, coast_k: float) -> float:
        """Return where to cut for a pause, seen the largest coast so far."""
        aim_c = self.ambient_c + _SHARES[number] * (self.ceiling_c - self.ambient_c)
        return min(aim_c, self.ceiling_c - _COAST_CAUTION * coast_k - _MARGIN_K)

    @property
    def pauses(self) -> int:
        """Return how many pauses the heat-up has."""
        return len(_SHARES)


@dataclass(frozen=True, slots=True)
class LearningState:
    """Where the heat-up stands.

    `why` says in one sentence why it failed; `coast_k` is the largest rise seen after a cut; `risen_k` what
    the last minutes of full heat brought; `turns_s` the longest that the reading rose on after a cut;
    `waited` where the sensor was waited for, `late_s` for how long until it moved;
    `cold_c` is where the first heat began.
    """

    phase: Phase = "wait"
    duty: float = 0.0
    pause: int = 0
    phase_s: float = 0.0
    total_s: float = 0.0
    entered_c: float = 0.0
    peak_c: float = -273.15
    peak_age_s: float = 0.0
    risen_to_c: float = -273.15
    coast_k: float = 0.0
    turns_s: float = 0.0
    last_c: float | None = None
    mark_c: float = 0.0
    mark_s: float = 0.0
    risen_k: float = 0.0
    waited: bool = False
    late_s: float = 0.0
    cold_c: float = 0.0
    why: str = ""

    @property
    def over(self) -> bool:
        """True when nothing more is to be heated."""
        return self.phase in ("done", "failed")


def plan_learning(oven: Oven) -> LearningPlan:
    """Return the plan of an oven. Raises RunRefused for a ceiling that is missing, too high or too low."""
    if oven.output.heater.kind == "set-point":
        raise RunRefused(
            "an instrument that regulates by itself is not learned: kilnctl never sets its power"
        )
    if oven.tune_ceiling_c is None:
        raise RunRefused('the oven file has no tune_ceiling; write one, like: tune_ceiling = "880 C"')
    if oven.tune_ceiling_c > oven.limit_c - 10.0:
        raise RunRefused(
            f"tune_ceiling {say_point(oven.tune_ceiling_c)} must lie 10 K or more below the limit "
            f"{say_point(oven.limit_c)}"
        )
    if oven.tune_ceiling_c < oven.ambient_c + 100.0:
        raise RunRefused("tune_ceiling is too low to learn anything from; 100 K above the room is the least")
    typical = nameplate(oven)
    dose_s = _DOSE_K * (typical.element + typical.face + typical.load)
    return LearningPlan(oven.tune_ceiling_c, oven.ambient_c, oven.limit_c, dose_s)


def advance_learning(
    plan: LearningPlan, state: LearningState, process_c: float, dt_s: float, door_open: bool = False
) -> LearningState:
    """Return the heat-up dt_s seconds later, with the duty for the coming tick. Good readings only."""
    if state.over:
        return state
    why = _fault(plan, state, process_c, door_open)
    if why:
        return replace(state, phase="failed", duty=0.0, why=why, last_c=process_c)
    state = _with_reading(state, process_c, dt_s)
    match state.phase:
        case "wait" if state.waited:
            return _answers(state, process_c)
        case "wait":
            waits = state.phase_s < _WAIT_S
            return state if waits else _enter(replace(state, cold_c=process_c), "heat", process_c)
        case "heat":
            return _heat(plan, state, process_c)
        case "pulses" | "after":
            return _pulses(plan, state, process_c)
        case _:
            return _coast(plan, state, process_c)


def _fault(plan: LearningPlan, state: LearningState, process_c: float, door_open: bool) -> str:
    if door_open:
        return "the door was opened; learning needs an undisturbed heat. Let it cool and start again"
    if process_c >= plan.ceiling_c:
        return f"{say_point(process_c)} is at the ceiling {say_point(plan.ceiling_c)} of the oven file"
    if state.phase == "wait" and not state.waited and abs(process_c - plan.ambient_c) > _COLD_K:
        return (
            f"the oven reads {say_point(process_c)} and the room is {say_point(plan.ambient_c)}; "
            "learning starts from a cold oven"
        )
    if state.last_c is not None and abs(process_c - state.last_c) > _JUMP_K:
        return (
            f"the reading jumped by {process_c - state.last_c:+.0f} K in one tick; check the sensor's wiring"
        )
    if state.total_s > _LONGEST_S:
        return (
            f"not finished after {say_duration(state.total_s)}; the ceiling may be out of this oven's reach"
        )
    return ""


def _with_reading(state: LearningState, process_c: float, dt_s: float) -> LearningState:
    higher = process_c > state.risen_to_c + _CREEPS_K
    return replace(
        state,
        phase_s=state.phase_s + dt_s,
        total_s=state.total_s + dt_s,
        peak_c=max(state.peak_c, process_c),
        peak_age_s=0.0 if higher else state.peak_age_s + dt_s,
        risen_to_c=process_c if higher else state.risen_to_c,
        last_c=process_c,
    )


def _enter(state: LearningState, phase: Phase, process_c: float) -> LearningState:
    return replace(
        state,
        phase=phase,
        duty=1.0 if phase == "heat" else 0.0,
        phase_s=0.0,
        entered_c=process_c,
        peak_c=process_c,
        peak_age_s=0.0,
        risen_to_c=process_c,
        mark_c=process_c,
        mark_s=0.0,
        risen_k=0.0,
    )


def _heat(plan: LearningPlan, state: LearningState, process_c: float) -> LearningState:
    # A sensor that was late for a first dose is as late for this heat.
    no_heat_s = _NO_HEAT_S + (state.late_s if state.pause == 0 else 0.0)
    if state.mark_s == 0.0 and state.phase_s >= no_heat_s:
        risen_k = (process_c - state.entered_c) * _STALL_S / no_heat_s
        state = replace(state, mark_c=process_c, mark_s=state.phase_s, risen_k=risen_k)
    if state.mark_s > 0.0 and state.phase_s - state.mark_s >= _STALL_S:
        if process_c - state.mark_c < _STALL_K:
            return _fail(state, _stands(process_c, state.risen_k))
        state = replace(state, mark_c=process_c, mark_s=state.phase_s, risen_k=process_c - state.mark_c)
    if state.phase_s >= no_heat_s and process_c - state.entered_c < _NO_HEAT_K:
        return _fail(
            state,
            f"no heat: {say_duration(state.phase_s)} of full power lifted the reading by "
            f"{process_c - state.entered_c:.1f} K. Check element, relay and where the sensor sits",
        )
    if state.phase_s >= plan.dose_s and _is_late(state, process_c - state.cold_c):
        return _enter(replace(state, waited=True), "wait", process_c)
    if process_c >= plan.pause_at_c(state.pause, state.coast_k):
        return _enter(state, "coast", process_c)
    return state


def _is_late(state: LearningState, rise_k: float) -> bool:
    """Return whether a dose is to be waited for: of a late sensor each, or full heat runs ahead again."""
    late = _DEAF_K <= rise_k < _ANSWERED_K if state.waited else rise_k < _DEAF_K
    return state.pause == 0 and late


def _answers(state: LearningState, process_c: float) -> LearningState:
    """Wait for a late sensor: until it has answered, or stands still. What has not begun does not stand."""
    rise_k = process_c - state.entered_c
    if rise_k < _DEAF_K:
        state = replace(state, late_s=max(state.late_s, state.phase_s))
    waits = rise_k < _DEAF_K or state.peak_age_s < _TURNED_S
    answered = rise_k >= _ANSWERED_K or not waits or state.phase_s >= _LAST_COAST_S
    return _enter(state, "heat", process_c) if answered else state


def _coast(plan: LearningPlan, state: LearningState, process_c: float) -> LearningState:
    turned = state.peak_c - process_c >= _TURNED_K or state.peak_age_s >= _TURNED_S
    last = _is_last(plan, state)
    if not turned and state.phase_s > _COAST_LIMIT_S:
        return _fail(state, "the oven keeps rising with the heat off; the relay may be stuck. Cut the power")
    turns_s = max(state.turns_s, state.phase_s - state.peak_age_s)
    state = replace(state, coast_k=max(state.coast_k, state.peak_c - state.entered_c), turns_s=turns_s)
    if last:
        finished = turned and state.phase_s >= _LAST_COAST_S
        return _tested(plan, state, process_c) if finished else state
    if not turned:
        return state
    return _enter(replace(state, pause=state.pause + 1), "heat", process_c)


def _tested(plan: LearningPlan, state: LearningState, process_c: float) -> LearningState:
    """Go on to the pulses, where there is room for them below the ceiling."""
    if process_c > plan.ceiling_c - _BELOW_CEILING_K:
        return replace(state, phase="done", duty=0.0)
    return _enter(state, "pulses", process_c)


def _pulses(plan: LearningPlan, state: LearningState, process_c: float) -> LearningState:
    """Give short pulses, then watch what came of them."""
    if state.phase == "after":
        watched_s = min(max(_AFTER_S, state.turns_s), _AFTER_MOST_S)
        return replace(state, phase="done") if state.phase_s >= watched_s else state
    if state.phase_s >= _PULSES_S or process_c > plan.ceiling_c - _STOPS_BELOW_K:
        return _enter(state, "after", process_c)
    return replace(state, duty=1.0 if state.phase_s % _PULSE_EVERY_S < _PULSE_S else 0.0)


def _is_last(plan: LearningPlan, state: LearningState) -> bool:
    """True in the last pause: at the ceiling, or one before it where the way there took long."""
    slow = state.total_s - state.phase_s > _SLOW_S
    return state.pause == plan.pauses - 1 or (slow and state.pause == plan.pauses - 2)


def _stands(at_c: float, before_k: float) -> str:
    """Say why full power lifts an oven no longer: at its end it slows down first, a melting bath stops."""
    stands = f"full power no longer lifts the oven above {say_point(at_c)}"
    if before_k < _SLOWED_K:
        return f"{stands}; lower tune_ceiling, or first melt or dry what takes the heat there"
    return (
        f"{stands}, where it still rose minutes before: salt that melts, damp sand or a damp lining takes "
        "the heat there. Dry what is damp and learn again; with a bath in it an oven is not learned, and "
        "kilnctl heats it by what each heat shows"
    )


def _fail(state: LearningState, why: str) -> LearningState:
    return replace(state, phase="failed", duty=0.0, why=why)
