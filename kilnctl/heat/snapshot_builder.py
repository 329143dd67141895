"""What a screen is shown of a runner: one Snapshot."""

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from kilnctl.heat.job import verdict
from kilnctl.heat.time_left import ends_s, segment_left_s, total_left_s, wait_left_s
from kilnctl.heat.unpowered import silent_note, unpowered
from kilnctl.interlocks import left_out
from kilnctl.interlocks.contract import live
from kilnctl.link.snapshot import AlarmView, InterlockView, SegmentView, Snapshot, Waiting
from kilnctl.profile.segments import AnySegment, Cool, Operator, Ramp, Soak, goal_c
from kilnctl.stages import HOT_C, LIVE, RunState
from kilnctl.treatment.consequence import predicted_hrc
from kilnctl.units import say_duration, say_point

if TYPE_CHECKING:
    from kilnctl.heat.runner import Runner

PLANNED: tuple[RunState, ...] = (*LIVE, "complete")


def snapshot(runner: "Runner", sequence: int) -> Snapshot:
    """Return the whole live state of a runner. Called in the runner's own thread, once a tick."""
    oven, scan, cursor = runner.station.oven, runner.scan, runner.cursor
    process = scan.process if scan is not None else None
    heats = not runner.job.record_only  # a recording has a profile for the record's sake; nobody follows it
    segment = runner.segment if runner.state in LIVE and heats else None
    left_s = segment_left_s(runner, segment)
    ends = ends_s(runner, left_s)
    total_s = total_left_s(runner, ends) if segment is not None else None
    return Snapshot(
        oven=oven.name,
        simulated=oven.simulated,
        sequence=sequence,
        utc=runner.clock.utc().isoformat(timespec="milliseconds"),
        state=runner.state,
        word=word(runner, segment),
        elapsed_s=runner.elapsed_s,
        process_c=process.value if process is not None else None,
        setpoint_c=cursor.setpoint_c if runner.state in LIVE else None,
        part_c=_part(runner),
        goal_c=None if segment is None else goal_c(segment),
        limit_c=oven.limit_c,
        duty=runner.duty,
        heat_on=scan.heat_on if scan is not None else None,
        run=runner.run_id,
        profile=runner.profile.name if heats else "recording only",
        steel=runner.profile.steel or "",
        time_scale=runner.time_scale,
        unattended=runner.job.unattended,
        second_c=scan.second.value if scan is not None and scan.second is not None else None,
        quality=str(process.quality) if process is not None else "",
        segment=cursor.segment if runner.segment is not None and heats else None,
        segments=segment_views(runner, ends) if heats else (),
        segment_left_s=left_s,
        total_left_s=total_s,
        end_utc=_end(runner, total_s),
        soak_oven_s=cursor.soak_oven_s if isinstance(segment, Soak) else None,
        soak_part_s=cursor.soak_part_s if isinstance(segment, Soak) else None,
        soak_goal_s=segment.soak_s if isinstance(segment, Soak) else None,
        next_words=next_words(runner, left_s),
        waiting=waiting(runner, segment),
        temper_equivalent=runner.station.equivalents(runner.dose, runner.profile),
        predicted_hrc=_hardness(runner),
        interlocks=interlock_views(runner),
        alarms=alarm_views(runner),
        trip=runner.trip.reason if runner.trip is not None else "",
        trip_kind=runner.trip.kind if runner.trip is not None else "",
        energy_kwh=runner.tally.energy_kwh,
        closures_per_h=closures_per_h(runner),
        prediction=runner.ahead.points if runner.ahead is not None else (),
        isolator=oven.isolator,
        phone=oven.phone,
        record_complete=runner.recorder.complete,
        note=runner.recorder.trouble or silent_note(runner) or runner.oven_note,
        not_checked=runner.job.not_checked,
        last_command=runner.last_command,
        cause=runner.cause,
        outcome="" if runner.state in LIVE else verdict(runner.state, cursor)[0],
        hand_times_s=hand_times_s(segment),
        medium=segment.medium if isinstance(segment, Operator) else "",
        off_read_back=runner.off_read_back if runner.state not in LIVE else None,
        heater_live=live(scan) if scan is not None else None,
        still_on=runner.trip is not None and runner.after is not None and runner.after.still_on,
        trip_later=tuple(found.reason for found in runner.trip_later),
    )


def _part(runner: "Runner") -> float | None:
    """Return the part's temperature; after the end nobody estimates it any more, only a sensor knows."""
    load = runner.scan.load if runner.scan is not None else None
    return runner.part_c if runner.state in LIVE or (load is not None and load.good) else None


def _hardness(runner: "Runner") -> tuple[float, float] | None:
    """Return what the plan aims at; nobody predicts the hardness of a heat that did not finish."""
    steel = runner.station.steel
    return None if steel is None or runner.state not in PLANNED else predicted_hrc(runner.profile, steel)


def word(runner: "Runner", segment: AnySegment | None) -> str:
    """Return the state in one word of a person."""
    if runner.state == "tripped":
        return "tripped"
    if runner.state == "held":
        return "waiting to start" if runner.waiting else "held"
    if runner.state != "running" or segment is None or runner.job.record_only:
        return off_word(runner)
    match segment:
        case Operator():
            return "ready to quench" if segment.step == "quench" else "waiting for you"
        case Ramp():
            return "heating"
        case Soak():
            return "soaking"
        case Cool():
            return "cooling"


def off_word(runner: "Runner") -> str:
    """Return what to say of an oven without heat: hot until it is below 50 degC."""
    if unpowered(runner):
        return "not powered"
    process = runner.scan.process if runner.scan is not None else None
    hot = process is None or process.value is None or process.value > HOT_C
    return "off but hot" if hot else "cold"


def _end(runner: "Runner", total_s: float | None) -> str:
    if total_s is None or runner.state not in LIVE:
        return ""
    return (runner.clock.utc() + timedelta(seconds=total_s / runner.time_scale)).isoformat(timespec="seconds")


def next_words(runner: "Runner", left_s: float | None) -> str:
    """Say what happens next and when."""
    index, segments = runner.cursor.segment + 1, runner.profile.segments
    if runner.state not in LIVE or index > len(segments):
        return ""
    if runner.job.record_only:
        return "the recording goes on until off; nothing is heated"
    if isinstance(runner.segment, Operator):
        when = " when you have answered"
    else:
        when = "" if left_s is None else f" in {say_duration(left_s)}"
    if runner.waiting:
        starts = runner.clock.utc() + timedelta(seconds=wait_left_s(runner) / runner.time_scale)
        return f"the heat begins at {starts.astimezone():%H:%M}, in {say_duration(wait_left_s(runner))}"
    if index == len(segments):
        return f"the heat is done{when}"
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


def waiting(runner: "Runner", segment: AnySegment | None) -> Waiting | None:
    """Return the operator step that waits, if one does."""
    if not isinstance(segment, Operator) or runner.state not in LIVE:
        return None
    since_s = runner.elapsed_s - runner.cursor.waited_s
    return Waiting(
        step=segment.step,
        say=segment.say,
        since_s=since_s,
        deadline_s=since_s + segment.at_most_s,
        heat_on_meanwhile=segment.hold_c is not None,
        element_isolated=runner.station.oven.signal.door_open is not None,
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


def segment_views(runner: "Runner", ends: list[float | None]) -> tuple[SegmentView, ...]:
    """Return the plan as lines, with what has been done so far."""
    done = {s.index: s for s in runner.tally.segments}
    views = []
    for index, (segment, end_s) in enumerate(zip(runner.profile.segments, ends, strict=True)):
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


def interlock_views(runner: "Runner") -> tuple[InterlockView, ...]:
    """Return every interlock with its distance to the limit; those left out on this oven are not active.

    What tripped stays as it was then: at its limit.
    """
    views, tripped = [], runner.trip.kind if runner.trip is not None else ""
    for interlock in runner.station.interlocks:
        d = interlock.distance()
        if interlock.kind == tripped and runner.trip_distance is not None:
            d = replace(runner.trip_distance, near=1.0)
        views.append(
            InterlockView(interlock.kind, interlock.label, d.value, d.limit, d.unit, d.near, note=d.note)
        )
    note = "not checked: the output switches by itself"
    for kind, label in left_out(runner.station.oven):
        views.append(InterlockView(kind, label, None, None, "", 0.0, active=False, note=note))
    return tuple(views)


def alarm_views(runner: "Runner") -> tuple[AlarmView, ...]:
    """Return the alarms in their states."""
    return tuple(
        AlarmView(a.kind, a.words(runner.elapsed_s), str(a.priority), str(a.state), a.since_s, a.first_out)
        for a in runner.alarms.shown()
    )


def closures_per_h(runner: "Runner") -> float:
    """Return how often the relay has closed per hour of the heat; the watch after it does not count."""
    done = runner.tally.segments
    ended_s = done[-1].ended_s if done and runner.state not in LIVE else None
    return runner.switch.closures / max(ended_s or runner.elapsed_s, 600.0) * 3600.0
