"""What a screen is shown of a heat: one Snapshot."""

from dataclasses import replace
from datetime import timedelta

from kilnctl.heat.heat_state import Heat, HeatState
from kilnctl.heat.job import verdict
from kilnctl.heat.telling.creep_words import creep_words
from kilnctl.heat.telling.time_left import (
    NO_FORECAST,
    RestOfHeat,
    ends_s,
    segment_left_s,
    total_left_s,
    wait_left_s,
)
from kilnctl.heat.unpowered import never_heated, only_watched, silent_note, unpowered
from kilnctl.interlocks import left_out
from kilnctl.interlocks.contract import live
from kilnctl.link.snapshot import AlarmView, InterlockView, SegmentView, Snapshot, Waiting
from kilnctl.profile.segments import AnySegment, Cool, Operator, Ramp, Soak, goal_c
from kilnctl.stages import HOT_C, LIVE, RunState
from kilnctl.treatment.consequence import predicted_hrc
from kilnctl.units import say_duration, say_point

PLANNED: tuple[RunState, ...] = (*LIVE, "complete")


def snapshot(heat: Heat, now: HeatState, sequence: int, forecast: RestOfHeat = NO_FORECAST) -> Snapshot:
    """Return what screens are shown of a heat as it stands, once a tick."""
    oven, scan, cursor = heat.station.oven, now.scan, now.cursor
    process = scan.process if scan is not None else None
    heats = not heat.job.record_only  # a recording has a profile for the record's sake; nobody follows it
    segment = now.segment if now.state in LIVE and heats else None
    left_s = segment_left_s(heat.job, now, forecast, segment)
    ends = ends_s(heat.job, now, forecast, left_s)
    total_s = total_left_s(now, ends) if segment is not None else None
    return Snapshot(
        oven=oven.name,
        simulated=oven.simulated,
        sequence=sequence,
        utc=heat.clock.utc().isoformat(timespec="milliseconds"),
        state=now.state,
        word=word(heat, now, segment),
        elapsed_s=now.elapsed_s,
        process_c=process.value if process is not None else None,
        setpoint_c=cursor.setpoint_c if now.state in LIVE else None,
        part_c=_part(now),
        goal_c=None if segment is None else goal_c(segment),
        limit_c=oven.limit_c,
        duty=now.duty,
        heat_on=scan.heat_on if scan is not None else None,
        run=heat.run_id,
        profile=now.profile.name if heats else "recording only",
        steel=now.profile.steel or "",
        time_scale=heat.time_scale,
        unattended=heat.job.unattended,
        second_c=scan.second.value if scan is not None and scan.second is not None else None,
        quality=str(process.quality) if process is not None else "",
        segment=cursor.segment if now.segment is not None and heats else None,
        segments=segment_views(now, ends) if heats else (),
        segment_left_s=None if left_s is None else left_s + wait_left_s(heat.job, now),
        total_left_s=total_s,
        end_utc=_end(heat, now, total_s),
        soak_oven_s=cursor.soak_oven_s if isinstance(segment, Soak) else None,
        soak_part_s=cursor.soak_part_s if isinstance(segment, Soak) else None,
        soak_goal_s=segment.soak_s if isinstance(segment, Soak) else None,
        next_words=next_words(heat, now, left_s),
        waiting=waiting(heat, now, segment),
        temper_equivalent=heat.station.equivalents(now.dose, now.profile),
        predicted_hrc=_hardness(heat, now),
        interlocks=interlock_views(heat, now),
        alarms=alarm_views(now),
        trip=now.trip.reason if now.trip is not None else "",
        trip_kind=now.trip.kind if now.trip is not None else "",
        energy_kwh=now.totals.energy_kwh,
        closures_per_h=closures_per_h(now),
        prediction=forecast.points,
        isolator=oven.isolator,
        phone=oven.phone,
        record_complete=heat.recorder.complete,
        note=heat.recorder.trouble or silent_note(heat, now) or now.oven_note,
        not_checked=heat.job.not_checked,
        last_command=now.last_command,
        cause=now.cause,
        outcome="" if now.state in LIVE else verdict(now.state, cursor)[0],
        hand_times_s=hand_times_s(segment),
        medium=segment.medium if isinstance(segment, Operator) else "",
        off_read_back=now.off_read_back if now.state not in LIVE else None,
        heater_live=live(scan) if scan is not None else None,
        still_on=now.trip is not None and now.after is not None and now.after.still_on,
        trip_later=tuple(found.reason for found in now.trip_later),
        skin_c=_skin(heat, now),
        part=heat.part,
        creeps=creep_words(heat, now, segment),
        only_watched=only_watched(heat, now),
    )


def _part(now: HeatState) -> float | None:
    """Return the part's temperature; after the end nobody estimates it any more, only a sensor knows."""
    load = now.scan.load if now.scan is not None else None
    return now.part_c if now.state in LIVE or (load is not None and load.good) else None


def _skin(heat: Heat, now: HeatState) -> tuple[float, float] | None:
    """Return the estimated skin of a thin edge while the heat lasts, None where no element sees it.

    None too where the oven is not learned: its nameplate is no estimate.
    """
    skin = heat.station.skin
    seen = skin is not None and skin.learned and now.state in LIVE
    return None if not seen or skin is None or skin.now is None else (*skin.now,)


def _hardness(heat: Heat, now: HeatState) -> tuple[float, float] | None:
    """Return what the plan aims at; nobody predicts the hardness of a heat that did not finish."""
    steel = heat.station.steel
    return None if steel is None or now.state not in PLANNED else predicted_hrc(now.profile, steel)


def word(heat: Heat, now: HeatState, segment: AnySegment | None) -> str:
    """Return the state in one word of a person."""
    if now.state == "tripped":
        return "tripped"
    if now.waiting and now.state in LIVE:
        return "waiting to start"
    if now.state not in LIVE or segment is None or heat.job.record_only:
        return off_word(heat, now)
    if now.state == "held" and not isinstance(segment, Operator):
        return "held"  # at an operator's step an open door is as it should be
    match segment:
        case Operator():
            return "ready to quench" if segment.step == "quench" else "waiting for you"
        case Ramp():
            return "heating"
        case Soak():
            return "soaking"
        case Cool():
            return "cooling"


def off_word(heat: Heat, now: HeatState) -> str:
    """Return what to say of an oven without heat: hot until it is below 50 degC."""
    if unpowered(heat, now) and never_heated(heat, now):
        return "silent"
    process = now.scan.process if now.scan is not None else None
    hot = process is None or process.value is None or process.value > HOT_C
    return "off but hot" if hot else "cold"


def _end(heat: Heat, now: HeatState, total_s: float | None) -> str:
    if total_s is None or now.state not in LIVE:
        return ""
    return (heat.clock.utc() + timedelta(seconds=total_s / heat.time_scale)).isoformat(timespec="seconds")


def next_words(heat: Heat, now: HeatState, left_s: float | None) -> str:
    """Say what happens next and when."""
    index, segments = now.cursor.segment + 1, now.profile.segments
    if now.state not in LIVE or index > len(segments):
        return ""
    if heat.job.record_only:
        return "recording until off; nothing is heated"
    if isinstance(now.segment, Operator):
        when = " once you answer"
    else:
        when = "" if left_s is None else f" in {say_duration(left_s)}"
    if now.waiting:
        wait_s = wait_left_s(heat.job, now)
        starts = heat.clock.utc() + timedelta(seconds=wait_s / heat.time_scale)
        return f"the heat begins at {starts.astimezone():%H:%M}, in {say_duration(wait_s)}"
    if index == len(segments):
        return f"the heat ends{when}"
    segment = segments[index]
    match segment:
        case Ramp():
            return f"heat to {say_point(segment.to_c)}{when}"
        case Soak():
            return f"soak at {say_point(segment.at_c)} for {say_duration(segment.soak_s)}{when}"
        case Cool():
            return f"cool to {say_point(segment.to_c)}{when}"
        case Operator():
            return f"you{',' if when else ''}{when}: {segment.say}"


def waiting(heat: Heat, now: HeatState, segment: AnySegment | None) -> Waiting | None:
    """Return the operator step that waits, if one does."""
    if not isinstance(segment, Operator) or now.state not in LIVE:
        return None
    since_s = now.elapsed_s - now.cursor.waited_s
    return Waiting(
        step=segment.step,
        say=segment.say,
        since_s=since_s,
        deadline_s=since_s + segment.at_most_s,
        heat_on_meanwhile=segment.hold_c is not None,
        element_isolated=heat.station.oven.door_isolates,
    )


def hand_times_s(segment: AnySegment | None) -> dict[str, float]:
    """Return what the plan allows the hands at the quench that waits, empty at any other time."""
    if not isinstance(segment, Operator) or segment.step != "quench":
        return {}
    times = {
        "transfer": segment.transfer_s,
        "bath": segment.bath_s,
        "clamp": segment.clamp_s,
        "warm": segment.warm_s,
    }
    return {name: s for name, s in times.items() if s is not None}


def segment_views(now: HeatState, ends: list[float | None]) -> tuple[SegmentView, ...]:
    """Return the plan as lines, with what has been done so far."""
    done = {s.segment: s for s in now.totals.segments}
    views = []
    for index, (segment, end_s) in enumerate(zip(now.profile.segments, ends, strict=True)):
        tally = done.get(index)
        views.append(
            SegmentView(
                index=index,
                kind=segment.kind,
                label=segment.label,
                purpose=segment.purpose,
                goal_c=goal_c(segment),
                rate_c_per_h=getattr(segment, "rate_c_per_h", None),
                soak_s=segment.soak_s if isinstance(segment, Soak) else None,
                started_s=tally.started_s if tally is not None else None,
                ended_s=tally.ended_s if tally is not None else None,
                predicted_end_s=end_s,
                say=segment.say if isinstance(segment, Operator) else "",
                step=segment.step if isinstance(segment, Operator) else "",
            )
        )
    return tuple(views)


def interlock_views(heat: Heat, now: HeatState) -> tuple[InterlockView, ...]:
    """Return every interlock with its distance to the limit; those left out on this oven are not active.

    What tripped stays as it was then: at its limit.
    """
    views, tripped = [], now.trip.kind if now.trip is not None else ""
    for interlock in heat.station.interlocks:
        d = interlock.distance()
        if interlock.kind == tripped and now.trip_distance is not None:
            d = replace(now.trip_distance, near=1.0)
        views.append(
            InterlockView(interlock.kind, interlock.label, d.value, d.limit, d.unit, d.near, note=d.note)
        )
    note = "not checked: the output switches by itself"
    for kind, label in left_out(heat.station.oven):
        views.append(InterlockView(kind, label, None, None, "", 0.0, active=False, note=note))
    return tuple(views)


def alarm_views(now: HeatState) -> tuple[AlarmView, ...]:
    """Return the alarms in their states."""
    return tuple(
        AlarmView(a.kind, a.words(now.elapsed_s), str(a.priority), str(a.state), a.since_s, a.first_out)
        for a in now.alarms.shown()
    )


def closures_per_h(now: HeatState) -> float:
    """Return how often the relay has closed per hour of the heat; the watch after it does not count."""
    done = now.totals.segments
    ended_s = done[-1].ended_s if done and now.state not in LIVE else None
    return now.switch.closures / max(ended_s or now.elapsed_s, 600.0) * 3600.0
