"""A trip of one run: the first cause, what is found while it stands, and what broke in a tick.

The first cause stays the first. What comes later never lowers anything: it adds its words, sounds the horn
anew and raises what a reset asks for.
"""

from dataclasses import replace

from kilnctl.errors import one_line
from kilnctl.heat.cooldown_watch import AfterHeat
from kilnctl.heat.heat_state import Heat, HeatState
from kilnctl.interlocks import with_subject
from kilnctl.interlocks.alarms import AlarmList
from kilnctl.logbook.entries import LatchChange
from kilnctl.readings import Scan, Trip


def tripped(heat: Heat, now: HeatState, trip: Trip) -> HeatState:
    """Return a heat that is cut with its first cause; the watch for a second one begins."""
    said = (i.distance() for i in heat.station.interlocks if i.kind == trip.kind)
    return now._replace(
        trip=trip,
        state="tripped",
        cause=trip.reason,
        trip_distance=next(said, None),
        alarms=now.alarms.latch(trip.kind, trip.reason, now.elapsed_s),
        after=watch_of(heat, now),
    )


def watch_of(heat: Heat, now: HeatState) -> AfterHeat:
    """Return the watch over what the heat does once it is cut; it begins where it is first asked for."""
    if now.after is not None:
        return now.after
    now_s, scan = heat.clock.now_s(), now.scan
    newest_c = scan.process.value if scan is not None and scan.process.good else None
    peak_c = now.totals.peak_c if newest_c is None else max(newest_c, now.totals.peak_c or newest_c)
    coast_k, coast_s, live_s = heat.station.coast_k, heat.station.coast_s, heat.station.may_live_s
    return AfterHeat(now_s, peak_c, newest_c, now_s, coast_k=coast_k, coast_s=coast_s, may_live_s=live_s)


def watched(heat: Heat, now: HeatState, scan: Scan) -> HeatState:
    """Return a heat that is cut after one more look: what it shows is a trip, or stands beside the first."""
    after = watch_of(heat, now).see(scan, now.off_read_back)
    now = now._replace(after=after)
    if heat.job.record_only:
        return now
    for found in after.findings(scan.at_s, heat.station.oven.limit_c):
        now = with_trip(heat, now, with_subject(found))
    return now


def with_trip(heat: Heat, now: HeatState, trip: Trip) -> HeatState:
    """Return the heat with what is found after it was cut, once each kind; the horn sounds anew."""
    first = now.trip
    if first is None:
        return tripped(heat, now, trip)
    if trip.kind in {first.kind, *(later.kind for later in now.trip_later)}:
        return now
    later = (*now.trip_later, trip)
    return now._replace(
        trip_later=later,
        cause="; then ".join(t.reason for t in (first, *later)),
        alarms=now.alarms.latch(trip.kind, trip.reason, now.elapsed_s),
        heard=False,
    )


def write_down(heat: Heat, before: HeatState, now: HeatState) -> None:
    """Latch and record what has been found since `before`: the heat knows it by then, whatever fails here."""
    first, known = now.trip, len(before.trip_later)
    if first is None:
        return
    if before.trip is None:
        heat.station.latch_trip(first)
        _record(heat, "trip", first)
    for count, found in enumerate(now.trip_later[known:], known + 1):
        heat.station.latch_trip(standing(first, now.trip_later[:count]))
        _record(heat, "found later", found)


def _record(heat: Heat, what: str, trip: Trip) -> None:
    """Write a finding into the run; after its end, which closes it, into an entry beside it."""
    if heat.recorder.ended:
        said = (heat.station.oven.name, f"{what}, after the end", trip.kind, trip.reason)
        heat.recorder.keep(LatchChange(*said, reset_class=str(trip.reset)))
    else:
        heat.recorder.event(what, trip.reason, trip_kind=trip.kind, reset=str(trip.reset))


def standing(first: Trip, later: tuple[Trip, ...]) -> Trip:
    """Return one trip for the latch: the first cause, all words, and the hardest of the resets."""
    hardest = max((first, *later), key=lambda trip: trip.reset)
    reason = "; then ".join(trip.reason for trip in (first, *later))
    return replace(first, reason=reason, reset=hardest.reset, repeat_step=hardest.repeat_step)


def with_program_fault(heat: Heat, now: HeatState, error: BaseException) -> HeatState:
    """Trip for what broke in a tick: whoever calls has cut the heat. A trip that stands keeps its cause."""
    return with_trip(heat, now, with_subject(Trip("program_fault", words_of(error), heat.clock.now_s())))


def words_of(error: BaseException) -> str:
    """Return an error in one line. Never raises: an error may not even know its own words."""
    try:
        return one_line(f"{type(error).__name__}: {error}")
    # The heat is off already; an error that fails to say its words must not keep the trip from latching.
    except Exception:
        return type(error).__name__


def alarms_changed(heat: Heat, alarms: AlarmList, before: AlarmList) -> None:
    """Record the alarms that came, came back, or have gone: since when, and how long they stood."""
    if alarms.as_before(before):  # in nearly every tick of an alarm that stands for hours
        return
    for alarm in alarms.fresh(before):
        heat.recorder.event("alarm", alarm.reason, alarm_kind=alarm.kind)
    for shown in alarms.back_from_shelf(before):
        heat.recorder.event("alarm back", shown.reason, alarm_kind=shown.kind)
    for shown in alarms.over(before):
        stood = {"over_s": shown.seen_s, "lasted_s": shown.seen_s - shown.since_s}
        heat.recorder.event("alarm over", shown.reason, alarm_kind=shown.kind, **stood)
