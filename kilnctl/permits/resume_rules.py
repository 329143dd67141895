"""May a heat that broke off go on, from where, and who must be there? Heat is off until this is answered.

Tempering, stress relief and holds below the transformation add up, so they may go on with what is missing:
by one key where the owner opted in for this very run, else with a person who stays. What turns to austenite
never goes on by itself. The reasons are common practice of heat treating, no single source.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from kilnctl.logbook.sample import Sample
from kilnctl.permits.needed_steps import TEMPER_C
from kilnctl.permits.outage import Outage
from kilnctl.profile.cursor import Cursor
from kilnctl.profile.segments import AnySegment, Cool, Operator, Profile, Ramp, Soak, goal_c
from kilnctl.stages import in_words
from kilnctl.treatment.steel.steels import load_steel
from kilnctl.treatment.steel.temper.dose import Dose, advance_dose, carbon_constant, carbon_of, dose_for
from kilnctl.units import say_duration, say_point

Way = Literal["alone", "attended", "never"]
# Below this nothing turns to austenite; above the other one austenite is still what it was.
SUBCRITICAL_C, STILL_AUSTENITE_C = 720.0, 760.0
# A person can choose to finish an austenitising soak only when he is there within this time.
AUSTENITE_DARK_S = 300.0
# Up to here a cut counts as short; a long one above the tempering range wants a person.
SHORT_S = 15 * 60.0
# Slow cooling: between these the structure is made, and this much faster than planned is another treatment.
SLOW_HIGH_C, SLOW_LOW_C, TOO_FAST = 750.0, 550.0, 1.5
ADDS_UP = ("temper", "snap temper", "stress relief")
_BEGINNING = Cursor()
WORTHLESS = ("tune", "first firing")


@dataclass(frozen=True, slots=True)
class Cut:
    """What the record knows of a heat that broke off. `newest` is its last sample.

    `within_s` is the owner's word for this run: within how many real seconds after the power is back a key
    lets it go on (None: it stays off). `ended` is how it ended where it did not break off, `again` True
    when it had been taken up once before.
    """

    run: int
    profile: Profile
    newest: Sample
    within_s: float | None = None
    ended: str = ""
    again: bool = False
    latched: bool = True


@dataclass(frozen=True, slots=True)
class TakenUp:
    """How a heat may go on: who must be there, from which place, and why. `credited_s` of the soak is kept.

    `not_alone` says, where a person must stay, why a key is not enough. `dose` is the temper so far.
    """

    way: Way
    start: Cursor
    why: str
    not_alone: tuple[str, ...] = ()
    credited_s: float = 0.0
    dose: Dose | None = None


@dataclass(frozen=True, slots=True)
class _Ruling:
    """What the table says of a segment, before the owner's conditions."""

    way: Way
    why: str
    start: Cursor = _BEGINNING
    credited_s: float = 0.0


def may_go_on(profile: Profile) -> bool:
    """True where any heat of a profile could go on by one key."""
    return any(_adds_up(segment) for segment in profile.segments)


def _adds_up(segment: AnySegment) -> bool:
    """True for what adds up over an interruption: tempers, stress relief, holds below the transformation."""
    if isinstance(segment, Soak) and segment.purpose == "anneal":
        return segment.at_c < SUBCRITICAL_C
    goal = goal_c(segment)
    adds_up = isinstance(segment, Soak | Ramp) and segment.purpose in ADDS_UP
    return adds_up and goal is not None and goal < SUBCRITICAL_C


def judge(cut: Cut, outage: Outage, process_c: float, since_power_s: float) -> TakenUp:
    """Return how a heat may go on. `process_c` is what the oven reads now.

    `since_power_s` is how long ago the machine came up, or broke off where it never went down (real s).
    """
    ruling = _rule(cut, outage, process_c)
    if ruling.way == "never":
        return TakenUp("never", ruling.start, ruling.why)
    not_alone = tuple(_not_alone(cut, outage, process_c, since_power_s, ruling.way))
    way: Way = "attended" if not_alone else "alone"
    return TakenUp(way, ruling.start, ruling.why, not_alone, ruling.credited_s, _dose(cut, outage))


def _not_alone(cut: Cut, outage: Outage, process_c: float, since_power_s: float, way: Way) -> list[str]:
    """Say everything because of which a person must stay."""
    segment = _segment(cut)
    goal = None if segment is None else goal_c(segment)
    reasons = [
        (way != "alone", "this step is never resumed without a person"),
        (cut.within_s is None, "nobody opted in when it was started (`--resume-within`)"),
        (bool(cut.ended), f"it was not interrupted: it {_how(cut.ended)}"),
        (not cut.latched, "it has been reset since"),
        (cut.again, "it has been resumed once already"),
        (goal is not None and process_c > goal, "the oven is above the goal"),
        (outage.seconds is None, outage.line()),
        (_long(outage) and (goal or 0.0) > TEMPER_C, f"a long cut above {say_point(TEMPER_C)}"),
        (since_power_s > (cut.within_s or math.inf), "the time allowed for the key is over"),
    ]
    return [words for holds, words in reasons if holds]


def _how(ended: str) -> str:
    return in_words(ended) if ended in ("tripped", "ended_early") else f"was {ended}"


def _long(outage: Outage) -> bool:
    return outage.seconds is None or outage.seconds > SHORT_S


def _segment(cut: Cut) -> AnySegment | None:
    index, segments = cut.newest.segment, cut.profile.segments
    return segments[index] if 0 <= index < len(segments) else None


# --- the table, by the kind of segment ---


def _rule(cut: Cut, outage: Outage, process_c: float) -> _Ruling:
    segment = _segment(cut)
    if segment is None or cut.ended == "complete":
        return _Ruling("never", "nothing of this heat is left to do")
    if segment.purpose in WORTHLESS:
        return _Ruling("never", f'"{segment.purpose}" cannot be resumed after a power cut: start it again')
    match segment:
        case Operator():
            return _operator(cut, segment)
        case Cool():
            return _cool(cut, segment, outage, process_c)
        case Ramp():
            return _ramp(cut, segment, outage, process_c)
        case Soak():
            return _soak(cut, segment, outage, process_c)


def _operator(cut: Cut, step: Operator) -> _Ruling:
    if step.step == "quench" and step.hold_c is not None:
        return _Ruling(
            "never",
            "READY is withdrawn: quench only what you can see is still above its quench floor, else let it "
            "cool and start the cycle again",
        )
    if step.hold_c is not None:
        return _Ruling("attended", "the step is asked again at heat", _from_ramp(cut))
    return _Ruling(
        "attended",
        "the timers of the hand work are lost: assume LATE. A part that was quenched is brittle: temper it "
        "promptly; the step is asked again",
        Cursor(cut.newest.segment),
    )


def _cool(cut: Cut, cool: Cool, outage: Outage, process_c: float) -> _Ruling:
    here = Cursor(cut.newest.segment)
    if cool.rate_c_per_h is None:
        return _Ruling("attended", "this cooling needs no heat; it goes on and the next step follows", here)
    cut_c = cut.newest.process_c
    if cut_c is None or min(cut_c, SLOW_HIGH_C) <= max(process_c, SLOW_LOW_C):
        return _Ruling("attended", "nothing transformed during the interruption: the cooling goes on", here)
    if outage.seconds is None:
        return _Ruling("never", "how fast it cooled is not known: regrade the part or repeat the anneal")
    went = (cut_c - process_c) / max(outage.seconds, 1.0) * 3600.0
    if went > TOO_FAST * cool.rate_c_per_h:
        return _Ruling(
            "never",
            f"it cooled at {went:.0f} K/h instead of {cool.rate_c_per_h:.0f} K/h during the interruption: "
            "not as planned, regrade the part or repeat the anneal",
        )
    return _Ruling("attended", "it cooled slowly enough during the interruption: the ramp goes on", here)


def _ramp(cut: Cut, ramp: Ramp, outage: Outage, process_c: float) -> _Ruling:
    here = Cursor(cut.newest.segment)
    if _adds_up(ramp):
        return _Ruling("alone", "the ramp goes on from where the oven is", here)
    if (cut.newest.process_c or process_c) < SUBCRITICAL_C:
        return _Ruling(
            "attended", "nothing had transformed yet: the ramp goes on from where the oven is", here
        )
    return _austenite(cut, outage, process_c)


def _soak(cut: Cut, soak: Soak, outage: Outage, process_c: float) -> _Ruling:
    if soak.at_c >= SUBCRITICAL_C:
        return _austenite(cut, outage, process_c)
    if soak.purpose == "preheat":
        return _Ruling("attended", "the hold is done again: the part must be evenly hot", _from_ramp(cut))
    way: Way = "alone" if _adds_up(soak) else "attended"
    if outage.seconds is None:
        return _Ruling(way, f"the whole soak is done again, {say_duration(soak.soak_s)}", _from_ramp(cut))
    credited_s = _credit_s(cut, soak, outage)
    return _Ruling(
        way,
        f"{say_duration(credited_s)} of {say_duration(soak.soak_s)} count, "
        f"{say_duration(soak.soak_s - credited_s)} are left",
        _from_ramp(cut, credited_s),
        credited_s,
    )


def _austenite(cut: Cut, outage: Outage, process_c: float) -> _Ruling:
    """Above the transformation: only a person who is there may choose, and only while it is austenite."""
    in_time = outage.seconds is not None and outage.seconds <= AUSTENITE_DARK_S
    if process_c >= STILL_AUSTENITE_C and in_time:
        return _Ruling(
            "attended",
            "the part is still austenite: finish or abort, your choice. The soak begins again once the part "
            "is at heat; every minute up there costs grain and carbon",
            _from_ramp(cut),
        )
    hardens_in_air = cut.profile.steel is not None and load_steel(cut.profile.steel).kind in (
        "high alloy",
        "stainless",
    )
    if hardens_in_air:
        return _Ruling(
            "never",
            "treat the part as partly hardened: snap temper or anneal it before it is heated again",
        )
    return _Ruling(
        "never",
        "the austenite has partly transformed: let it cool, normalise or anneal it, then begin again",
    )


# --- place and credit ---


def _from_ramp(cut: Cut, credited_s: float = 0.0) -> Cursor:
    """Return the place to begin: the ramp that leads to the segment, so that its rate holds again."""
    index = cut.newest.segment
    before = cut.profile.segments[index - 1] if index > 0 else None
    if isinstance(before, Ramp):
        return Cursor(index - 1, carry_s=credited_s)
    return Cursor(index, soak_oven_s=credited_s, soak_part_s=credited_s)


def _credit_s(cut: Cut, soak: Soak, outage: Outage) -> float:
    """Return the soak's credited seconds: what was in band before, and what the cooling oven still did.

    Of the two constants of the time-temperature parameter the one that credits less; never more than passed.
    """
    newest = cut.newest
    done_s = (newest.soak_part_s if soak.clock == "part" else newest.soak_oven_s) or 0.0
    if outage.seconds is None:
        return 0.0
    if soak.purpose not in ADDS_UP or done_s <= 0.0:
        return min(done_s, soak.soak_s)
    dose = Dose(soak.at_c, soak.soak_s, carbon_constant(carbon_of(cut.profile.steel)), done_s, done_s)
    after = _through(dose, outage, lambda at_c: min(at_c, soak.at_c))
    credited_s = min(after.equivalent20_s, after.equivalent_c_s, done_s + outage.seconds)
    return min(credited_s, soak.soak_s)


def _dose(cut: Cut, outage: Outage) -> Dose | None:
    """Return the temper so far, all tempers of the profile together, with what the cooling oven still did."""
    dose = dose_for(cut.profile)
    if dose is None:
        return None
    newest = cut.newest
    known = replace(dose, equivalent20_s=newest.dose20_s or 0.0, equivalent_c_s=newest.dose_c_s or 0.0)
    return _through(known, outage, lambda at_c: at_c)


def _through(dose: Dose, outage: Outage, measured: Callable[[float], float]) -> Dose:
    before_s = 0.0
    for at_s, at_c in outage.trace:
        dose = advance_dose(dose, measured(at_c), at_s - before_s)
        before_s = at_s
    return dose
