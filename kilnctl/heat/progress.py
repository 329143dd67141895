"""How a heat goes on through its profile: part, dose and cursor in one tick, and the change of a segment."""

from typing import Any

from kilnctl.heat import adjust as adjusting
from kilnctl.heat.current_segment import segment_at
from kilnctl.heat.heat_state import Heat, HeatState, part_c_of
from kilnctl.heat.job import ending_words
from kilnctl.profile.cursor import Cursor, advance
from kilnctl.readings import Scan
from kilnctl.stages import RunState


def after_wait(heat: Heat, now: HeatState, scan: Scan) -> HeatState:
    """Begin the heat when its time has come. Whoever opens the door meanwhile has other plans."""
    if scan.door_open:
        cause = "the door was opened while the heat waited to start"
        heat.recorder.event("off", cause)
        return now._replace(state="stopped", cause=cause)
    if now.elapsed_s < heat.job.wait_s:
        return now
    heat.recorder.event("begun", "the wait is over")
    totals = now.totals.enter(heat.job.profile, now.cursor.segment, now.elapsed_s)
    return now._replace(waiting=False, state="running", totals=totals)


def advanced(heat: Heat, now: HeatState, process_c: float, dt_s: float) -> HeatState:
    """Return the heat dt_s seconds later by a good reading: part, dose, cursor and totals."""
    station, before, segment, reply = heat.station, now.cursor, now.current, now.reply
    part = station.part_advance(now.part, process_c, dt_s, segment.part_inside)
    part_c = part_c_of(now.scan, part)
    dose, cursor = now.dose, before
    if segment.tempers:
        dose = station.dose_advance(dose, process_c if part_c is None else part_c, dt_s)
    if now.state == "running" and not heat.job.record_only:
        cursor = advance(now.profile, before, process_c, part_c, dt_s, reply, segment.soak)
        if reply is not None:
            now = now._replace(reply=None)
    credited_s = segment.soaked_s(before)
    # A soak that is over had its last tick counted.
    counted = cursor.segment != before.segment or segment.soaked_s(cursor) > credited_s
    totals = now.totals.see(now.elapsed_s, process_c, credited_s, counted)
    moved = now.moved(part, dose, cursor, totals)
    if cursor.segment == before.segment and not cursor.ending:
        return moved
    if cursor.ending in ("", "complete"):
        moved = moved._replace(totals=totals.soak_done(now.profile.segments[before.segment]))
    return segment_over(heat, moved, before)


def adjusted(heat: Heat, now: HeatState, args: dict[str, Any]) -> HeatState:
    """Change goal, time or place in the profile as a person has asked, and `adjusting` allows."""
    before = now.cursor
    profile, cursor = adjusting.adjusted(now.profile, before, args)
    changed = now._replace(profile=profile, cursor=cursor, current=segment_at(profile, cursor.segment))
    return segment_over(heat, changed, before) if cursor.segment != before.segment else changed


def segment_over(heat: Heat, now: HeatState, before: Cursor) -> HeatState:
    """Close the segment that the cursor has left, open the next, and say in the record how it ended."""
    cursor, done = now.cursor, now.profile.segments[before.segment]
    totals = now.totals.close(now.elapsed_s)
    if cursor.segment != before.segment:
        totals = totals.enter(heat.job.profile, cursor.segment, now.elapsed_s)
    heat.recorder.event("segment", f"{done.kind} over", segment=before.segment)
    moved = now._replace(totals=totals, current=segment_at(now.profile, cursor.segment))
    if cursor.ending == "complete":
        return moved._replace(state="complete")
    if cursor.ending:
        state: RunState = "stopped" if cursor.ending == "aborted" else "aborted"
        return moved._replace(state=state, cause=ending_words(cursor.ending, done))
    return moved
