"""A trip of one run: the first cause, what is found while it stands, and what broke in a tick.

The first cause stays the first. What comes later never lowers anything: it adds its words, sounds the horn
anew and raises what a reset asks for.
"""

from dataclasses import replace

from kilnctl.errors import one_line
from kilnctl.heat.cooldown_watch import AfterHeat
from kilnctl.heat.heat_state import Heat
from kilnctl.interlocks import with_subject
from kilnctl.readings import Scan, Trip


def trip(heat: Heat, found: Trip) -> None:
    """Take a first cause: whoever calls has cut the heat. From here on the watch for a second one goes."""
    heat.trip, heat.state, heat.cause = found, "tripped", found.reason
    said = (i.distance() for i in heat.station.interlocks if i.kind == found.kind)
    heat.trip_distance = next(said, None)
    heat.alarms = heat.alarms.latch(found.kind, found.reason, heat.elapsed_s)
    heat.station.latch_trip(found)
    heat.recorder.event("trip", found.reason, trip_kind=found.kind, reset=str(found.reset))
    watch(heat)


def watch(heat: Heat) -> AfterHeat:
    """Return the watch over what the heat does once it is cut; it begins with the first call."""
    if heat.after is None:
        now_s, scan = heat.clock.now_s(), heat.scan
        newest_c = scan.process.value if scan is not None and scan.process.good else None
        peak_c = heat.tally.peak_c if newest_c is None else max(newest_c, heat.tally.peak_c or newest_c)
        coast_k, live_s = heat.station.coast_k, heat.station.may_live_s
        heat.after = AfterHeat(now_s, peak_c, newest_c, now_s, coast_k=coast_k, may_live_s=live_s)
    return heat.after


def look_after(heat: Heat, scan: Scan) -> None:
    """See one look of a heat that is cut, and take what it shows: as a trip, or beside the first."""
    heat.after = watch(heat).see(scan, heat.off_read_back)
    if scan.process.value is not None:
        heat.trend.see(scan.at_s, scan.process.value, False, heat.station.oven.tick_s)
    if heat.job.record_only:
        return
    for found in heat.after.findings(scan.at_s, heat.station.oven.limit_c):
        take(heat, with_subject(found))


def take(heat: Heat, found: Trip) -> None:
    """Take what is found after the heat was cut, once each kind."""
    first = heat.trip
    if first is None:
        trip(heat, found)
    elif found.kind not in {first.kind, *(later.kind for later in heat.trip_later)}:
        heat.trip_later += (found,)
        heat.cause = "; then ".join(t.reason for t in (first, *heat.trip_later))
        heat.alarms = heat.alarms.latch(found.kind, found.reason, heat.elapsed_s)
        heat.call_again()
        heat.station.latch_trip(standing(first, heat.trip_later))
        heat.recorder.event("found later", found.reason, trip_kind=found.kind, reset=str(found.reset))


def standing(first: Trip, later: tuple[Trip, ...]) -> Trip:
    """Return one trip for the latch: the first cause, all words, and the hardest of the resets."""
    hardest = max((first, *later), key=lambda found: found.reset)
    reason = "; then ".join(found.reason for found in (first, *later))
    return replace(first, reason=reason, reset=hardest.reset, repeat_step=hardest.repeat_step)


def broke(heat: Heat, error: BaseException) -> None:
    """Trip for what broke in a tick: whoever calls has cut the heat. A trip that stands keeps its cause."""
    take(heat, with_subject(Trip("program_fault", words_of(error), heat.clock.now_s())))


def words_of(error: BaseException) -> str:
    """Return an error in one line. Never raises: an error may not even know its own words."""
    try:
        return one_line(f"{type(error).__name__}: {error}")
    # The heat is off already; an error that fails to say its words must not keep the trip from latching.
    except Exception:
        return type(error).__name__
