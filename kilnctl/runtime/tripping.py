"""A trip of one run: the first cause, what is found while it stands, and what broke in a tick.

The first cause stays the first. What comes later never lowers anything: it adds its words, sounds the horn
anew and raises what a reset asks for.
"""

from dataclasses import replace
from typing import TYPE_CHECKING

from kilnctl.errors import one_line
from kilnctl.interlocks import with_subject
from kilnctl.readings import Scan, Trip
from kilnctl.runtime.after_heat import AfterHeat

if TYPE_CHECKING:
    from kilnctl.runtime.runner import Runner


def trip(runner: "Runner", found: Trip) -> None:
    """Take a first cause: whoever calls has cut the heat. From here on the watch for a second one goes."""
    runner.trip, runner.state, runner.cause = found, "tripped", found.reason
    said = (i.distance() for i in runner.station.interlocks if i.kind == found.kind)
    runner.trip_distance = next(said, None)
    runner.alarms = runner.alarms.latch(found.kind, found.reason, runner.elapsed_s)
    runner.station.latch_trip(found)
    runner.recorder.event("trip", found.reason, trip_kind=found.kind, reset=str(found.reset))
    watch(runner)


def watch(runner: "Runner") -> AfterHeat:
    """Return the watch over what the heat does once it is cut; it begins with the first call."""
    if runner.after is None:
        now_s, scan = runner.clock.now_s(), runner.scan
        newest_c = scan.process.value if scan is not None and scan.process.good else None
        peak_c = runner.tally.peak_c if newest_c is None else max(newest_c, runner.tally.peak_c or newest_c)
        coast_k, live_s = runner.station.coast_k, runner.station.may_live_s
        runner.after = AfterHeat(now_s, peak_c, newest_c, now_s, coast_k=coast_k, may_live_s=live_s)
    return runner.after


def look_after(runner: "Runner", scan: Scan) -> None:
    """See one look of a heat that is cut, and take what it shows: as a trip, or beside the first."""
    runner.after = watch(runner).see(scan, runner.off_read_back)
    if runner.job.record_only:
        return
    for found in runner.after.findings(scan.at_s, runner.station.oven.limit_c):
        take(runner, with_subject(found))


def take(runner: "Runner", found: Trip) -> None:
    """Take what is found after the heat was cut, once each kind."""
    first = runner.trip
    if first is None:
        trip(runner, found)
    elif found.kind not in {first.kind, *(later.kind for later in runner.trip_later)}:
        runner.trip_later += (found,)
        runner.cause = "; then ".join(t.reason for t in (first, *runner.trip_later))
        runner.alarms = runner.alarms.latch(found.kind, found.reason, runner.elapsed_s)
        runner.call_again()
        runner.station.latch_trip(standing(first, runner.trip_later))
        runner.recorder.event("found later", found.reason, trip_kind=found.kind, reset=str(found.reset))


def standing(first: Trip, later: tuple[Trip, ...]) -> Trip:
    """Return one trip for the latch: the first cause, all words, and the hardest of the resets."""
    hardest = max((first, *later), key=lambda found: found.reset)
    reason = "; then ".join(found.reason for found in (first, *later))
    return replace(first, reason=reason, reset=hardest.reset, repeat_step=hardest.repeat_step)


def broke(runner: "Runner", error: BaseException) -> None:
    """Trip for what broke in a tick: whoever calls has cut the heat. A trip that stands keeps its cause."""
    why = one_line(f"{type(error).__name__}: {error}")
    take(runner, with_subject(Trip("program_fault", why, runner.clock.now_s())))
