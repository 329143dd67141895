"""Where a heat stands in its profile: frozen data that says everything a restart needs.

`advance` moves the cursor by one tick. It is called only with good readings: a bad one stops every clock.
"""

import math
from dataclasses import replace
from typing import Literal

from kilnctl.profile.segments import AnySegment, Cool, Operator, Profile, Ramp, Soak
from kilnctl.values import value

# The set-point never leads the oven by more than this, so that a soak cannot begin on paper only.
LEAD_K = 10.0
# "Arrived" for a ramp; the soak has its own band for credit.
ARRIVED_K = 3.0
# Nearer than this a goal counts as touched, from whichever side the oven comes: a sensor's resolution.
TOUCH_K = 1.0

Ending = Literal["", "complete", "not answered", "not reached", "aborted"]
Reply = Literal["done", "wait", "abort"]


@value
class Cursor:
    """The place in the profile. Times in seconds, temperatures in degC.

    `segment` equals the number of segments when all are done; `setpoint_c` is None where the heat is off;
    `soak_oven_s` and `soak_part_s` are credited seconds in band of this segment; `reached` says whether
    the goal of this segment has been touched; `waits` that the set-point is waiting for the oven;
    `carry_s` are seconds that the next soak begins with, of a heat that was taken up again.
    """

    segment: int = 0
    segment_s: float = 0.0
    setpoint_c: float | None = None
    soak_oven_s: float = 0.0
    soak_part_s: float = 0.0
    reached: bool = False
    waits: bool = False
    waited_s: float = 0.0
    ending: Ending = ""
    carry_s: float = 0.0

    @property
    def over(self) -> bool:
        """True when nothing is left to do."""
        return self.ending != ""


@value
class SoakNumbers:
    """A soak as plain numbers, for the tick: a field of a checked model takes ten times as long to read.

    `held_c` is where the sensor is held, `band_k` how far from it the oven's credit counts; the part's counts
    from `low_c` to `high_c`. `by_part` says whose credit ends it, after `soak_s`; after `longest_s` it is not
    reached.
    """

    held_c: float
    band_k: float
    low_c: float
    high_c: float
    soak_s: float
    longest_s: float
    by_part: bool

    def credited_s(self, cursor: Cursor) -> float:
        """Return what the soak has been credited by its own clock."""
        return cursor.soak_part_s if self.by_part else cursor.soak_oven_s


def numbers_of(soak: Soak) -> SoakNumbers:
    """Return a soak's numbers."""
    held_c, band_k, by_part = soak.held_c, soak.band_k, soak.clock == "part"
    # A sensor that is held lower: the part lies somewhere between it and the goal.
    low_c, high_c = held_c - band_k, soak.at_c + band_k
    return SoakNumbers(held_c, band_k, low_c, high_c, soak.soak_s, soak.longest_s, by_part)


def advance(
    profile: Profile,
    cursor: Cursor,
    process_c: float,
    part_c: float | None,
    dt_s: float,
    reply: Reply | None = None,
    soak: SoakNumbers | None = None,
) -> Cursor:
    """Return the cursor dt_s seconds later, seen from good readings.

    `part_c` is the part's estimate or load sensor, None where nothing is known of the part: the oven's own
    temperature counts then. `reply` answers the operator step that waits. `soak` are the numbers of the soak
    that runs, where they are at hand. `dt_s` must be finite and not negative; a negative one raises
    ValueError.
    """
    if not dt_s >= 0.0:
        raise ValueError(f"time cannot go back: dt_s = {dt_s}")
    if cursor.ending:
        return cursor
    if soak is not None:
        return _soak(profile, soak, cursor, process_c, part_c, dt_s)
    segment = profile.segments[cursor.segment]
    # By its kind, here and below: asking one of these models whether it is another one costs half a tick.
    if segment.kind == "ramp":
        return _ramp(profile, segment, cursor, process_c, dt_s)
    if segment.kind == "soak":
        return _soak(profile, numbers_of(segment), cursor, process_c, part_c, dt_s)
    if segment.kind == "cool":
        return _cool(profile, segment, cursor, process_c, part_c, dt_s)
    return _operator(profile, segment, cursor, dt_s, reply)


def next_segment(profile: Profile, cursor: Cursor) -> Cursor:
    """Return the cursor at the start of the next segment; the set-point goes on from where it is."""
    following = cursor.segment + 1
    if following >= len(profile.segments):
        return Cursor(segment=following, ending="complete")
    if isinstance(profile.segments[following], Soak):
        carried_s = cursor.carry_s
        return Cursor(following, 0.0, cursor.setpoint_c, soak_oven_s=carried_s, soak_part_s=carried_s)
    return Cursor(segment=following, setpoint_c=cursor.setpoint_c, carry_s=cursor.carry_s)


def _ramp(profile: Profile, ramp: Ramp, cursor: Cursor, process_c: float, dt_s: float) -> Cursor:
    to_c, rate_c_per_h = ramp.to_c, ramp.rate_c_per_h
    if rate_c_per_h is None:
        setpoint_c, waits = to_c, False
    else:
        start_c = process_c if cursor.setpoint_c is None else cursor.setpoint_c
        ceiling_c = process_c + LEAD_K
        wanted_c = start_c + rate_c_per_h * dt_s / 3600.0
        waits = wanted_c > ceiling_c
        # Waiting is standing still: the set-point never goes back to a falling oven.
        setpoint_c = max(start_c, min(wanted_c, ceiling_c, to_c))
    moved = Cursor(cursor.segment, cursor.segment_s + dt_s, setpoint_c, waits=waits, carry_s=cursor.carry_s)
    if setpoint_c >= to_c and process_c >= to_c - ARRIVED_K:
        return next_segment(profile, replace(moved, setpoint_c=to_c))
    return moved


def _soak(
    profile: Profile, soak: SoakNumbers, cursor: Cursor, process_c: float, part_c: float | None, dt_s: float
) -> Cursor:
    held_c = soak.held_c
    oven_in = abs(process_c - held_c) <= soak.band_k
    part_in = oven_in if part_c is None else soak.low_c <= part_c <= soak.high_c
    moved = Cursor(  # in the order of the fields
        cursor.segment,
        cursor.segment_s + dt_s,
        held_c,
        cursor.soak_oven_s + dt_s if oven_in else cursor.soak_oven_s,
        cursor.soak_part_s + dt_s if part_in else cursor.soak_part_s,
        cursor.reached or oven_in,
    )
    if soak.credited_s(moved) >= soak.soak_s:
        return next_segment(profile, moved)
    if moved.segment_s >= soak.longest_s:
        return replace(moved, ending="not reached", setpoint_c=None)
    return moved


def _cool(
    profile: Profile, cool: Cool, cursor: Cursor, process_c: float, part_c: float | None, dt_s: float
) -> Cursor:
    setpoint_c, waits = _cooling_setpoint(cool, cursor, process_c, dt_s)
    moved = Cursor(cursor.segment, cursor.segment_s + dt_s, setpoint_c, waits=waits)
    measured_c = process_c if cool.measure == "oven" or part_c is None else part_c
    if measured_c <= cool.to_c:
        return next_segment(profile, moved)
    if cool.at_most_s is not None and moved.segment_s >= cool.at_most_s:
        return replace(moved, ending="not reached", setpoint_c=None)
    return moved


def _cooling_setpoint(cool: Cool, cursor: Cursor, process_c: float, dt_s: float) -> tuple[float | None, bool]:
    rate_c_per_h = cool.rate_c_per_h
    if rate_c_per_h is None:
        return None, False
    start_c = process_c if cursor.setpoint_c is None else cursor.setpoint_c
    floor_c = process_c - LEAD_K
    wanted_c = start_c - rate_c_per_h * dt_s / 3600.0
    # Just below the goal, so that a controlled cooling does end.
    return min(start_c, max(wanted_c, floor_c, cool.to_c - 1.0)), wanted_c < floor_c


def _operator(profile: Profile, step: Operator, cursor: Cursor, dt_s: float, reply: Reply | None) -> Cursor:
    waited_s = cursor.waited_s + dt_s
    moved = Cursor(cursor.segment, cursor.segment_s + dt_s, step.hold_c, waited_s=waited_s)
    if reply == "done":
        return next_segment(profile, moved)
    if reply == "abort":
        return replace(moved, ending="aborted", setpoint_c=None)
    if reply == "wait" and step.hold_c is None:
        # Without heat a longer wait harms nothing; with heat the recipe's maximum is a maximum.
        moved = replace(moved, waited_s=0.0)
    if moved.waited_s >= step.at_most_s:
        return replace(moved, ending="not answered", setpoint_c=None)
    return moved


def preview(
    profile: Profile, cursor: Cursor, ahead_s: float, soak: SoakNumbers | None = None
) -> float | None:
    """Return the set-point `ahead_s` seconds from now if the oven follows; None where the heat will be off.

    A soak's remaining credit is taken as if every second counted. `soak`: as for `advance`.
    """
    if soak is not None and ahead_s < soak.soak_s - soak.credited_s(cursor):
        return soak.held_c
    setpoint_c, index, spent_s = cursor.setpoint_c, cursor.segment, cursor.segment_s
    left_s, segments = ahead_s, profile.segments
    while index < len(segments):
        segment = segments[index]
        takes_s = _takes_s(segment, setpoint_c, cursor if index == cursor.segment else None, spent_s)
        if left_s < takes_s:
            return _within(segment, setpoint_c, left_s)
        setpoint_c = _at_end(segment)
        left_s, index, spent_s = left_s - takes_s, index + 1, 0.0
    return None


def _takes_s(segment: AnySegment, setpoint_c: float | None, cursor: Cursor | None, spent_s: float) -> float:
    if segment.kind == "soak":
        credited_s = 0.0
        if cursor is not None:
            credited_s = cursor.soak_part_s if segment.clock == "part" else cursor.soak_oven_s
        left_s = segment.soak_s - credited_s
        return left_s if left_s > 0.0 else 0.0
    if segment.kind == "operator":
        return max(0.0, segment.at_most_s - spent_s)
    if segment.rate_c_per_h is None or setpoint_c is None:
        return math.inf if segment.kind == "cool" or setpoint_c is None else 0.0
    return abs(segment.to_c - setpoint_c) / segment.rate_c_per_h * 3600.0


def _within(segment: AnySegment, setpoint_c: float | None, into_s: float) -> float | None:
    if segment.kind == "soak":
        return segment.held_c
    if segment.kind == "operator":
        return segment.hold_c
    if segment.rate_c_per_h is None or setpoint_c is None:
        return segment.to_c if segment.kind == "ramp" else None
    moved_k = segment.rate_c_per_h * into_s / 3600.0
    return setpoint_c + moved_k if segment.kind == "ramp" else setpoint_c - moved_k


def _at_end(segment: AnySegment) -> float | None:
    if segment.kind == "soak":
        return segment.held_c
    if segment.kind == "operator":
        return segment.hold_c
    return segment.to_c if segment.kind == "ramp" or segment.rate_c_per_h is not None else None
