"""One heat: what does not change while it runs, and as it stands after each tick, one frozen value.

The runner alone puts the next value in the place of the last; record, horn, forecast, commands and screens
are handed a value and may keep it: it never changes under them, in whatever thread they are.
"""

from dataclasses import dataclass
from typing import NamedTuple

from kilnctl.clock import Clock
from kilnctl.control.time_proportioning import SwitchState
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.heat.cooldown_watch import AfterHeat
from kilnctl.heat.current_segment import CurrentSegment, segment_at
from kilnctl.heat.job import Job
from kilnctl.heat.station import Station
from kilnctl.heat.totals import RunTotals
from kilnctl.interlocks.alarms import AlarmList
from kilnctl.interlocks.contract import Distance
from kilnctl.logbook.recorder import Recorder
from kilnctl.model.part import PartState
from kilnctl.profile.cursor import Cursor, Reply
from kilnctl.profile.segments import AnySegment, Profile
from kilnctl.readings import Scan, Trip
from kilnctl.stages import LIVE, RunState
from kilnctl.treatment.steel.temper.dose import Dose

OFF = HeatRequest(on=False, duty=0.0)
_put_together = tuple.__new__


@dataclass(frozen=True, slots=True)
class Heat:
    """One job on one station, and where it is recorded. `time_scale` seconds of heat pass in a real one.

    `part` is the part's name in the logbook.
    `found_hot`: somebody has heated this oven before and nobody has seen it cold since; `left_on`: nor has
    anybody read that heat back as off.
    """

    station: Station
    job: Job
    recorder: Recorder
    clock: Clock
    run_id: int | None = None
    time_scale: float = 1.0
    found_hot: bool = False
    part: str = ""
    left_on: bool = False


class HeatState(NamedTuple):
    """A heat as it stands after a tick. Times in seconds since the run began, temperatures in degC.

    `utc_s` is the wall time of the tick (s since 1970), a label. `profile` is the plan as a person has
    adjusted it. `fed` says whether the last whole tick has fed the dead-man: no heat without it. `heard`: a
    person has acknowledged the call of now, the lamp stays and the horn is silent. `reply` answers the step
    that waits, `last_command` says in words what was asked last. `oven_note` is what was found of the oven,
    `oven_changed` what the control found changed, `seen_on` that a recording saw heat. `unexplained` is the
    energy balance's, None while unknown.
    """

    # What changes in every tick stands first, in the order in which a tick comes to it: see `seen`.
    elapsed_s: float
    utc_s: float
    scan: Scan | None
    part: PartState | None
    dose: Dose | None
    cursor: Cursor
    totals: RunTotals
    switch: SwitchState
    request: HeatRequest
    duty: float
    fed: bool
    dither: int
    unexplained: float | None
    alarms: AlarmList
    profile: Profile
    current: CurrentSegment
    state: RunState
    waiting: bool
    cause: str = ""
    trip: Trip | None = None
    trip_distance: Distance | None = None
    trip_later: tuple[Trip, ...] = ()
    after: AfterHeat | None = None
    off_read_back: bool | None = None
    heard: bool = False
    reply: Reply | None = None
    last_command: str = ""
    oven_note: str = ""
    oven_changed: str = ""
    seen_on: bool = False

    def with_scan(self, elapsed_s: float, utc_s: float, scan: Scan) -> "HeatState":
        """Return the heat with another time and reading.

        This and the next three put a heat together from pieces: `_replace` looks at each of thirty fields.
        """
        return _put_together(HeatState, (elapsed_s, utc_s, scan, *self[3:]))

    def alarmed(self, alarms: AlarmList) -> "HeatState":
        """Return the heat with other alarms."""
        return _put_together(HeatState, (*self[:13], alarms, *self[14:]))

    def moved(
        self, part: PartState | None, dose: Dose | None, cursor: Cursor, totals: RunTotals
    ) -> "HeatState":
        """Return the heat with another place in its profile."""
        return _put_together(HeatState, (*self[:3], part, dose, cursor, totals, *self[7:]))

    def driven(
        self,
        totals: RunTotals,
        switch: SwitchState,
        request: HeatRequest,
        duty: float,
        fed: bool,
        dither: int,
        unexplained: float | None,
    ) -> "HeatState":
        """Return the heat with another answer to the oven, and what is known of the oven by now."""
        answer = totals, switch, request, duty, fed, dither, unexplained
        return _put_together(HeatState, (*self[:6], *answer, *self[13:]))

    @property
    def live(self) -> bool:
        """True while the heat goes on: running or held."""
        return self.state in LIVE

    @property
    def segment(self) -> AnySegment | None:
        """Return the segment that is running, None after the last."""
        return self.current.segment

    @property
    def segment_kind(self) -> str:
        """Return the kind of the running segment, empty after the last."""
        return self.current.kind

    @property
    def part_c(self) -> float | None:
        """Return the part's temperature, None where nothing is known of it."""
        return part_c_of(self.scan, self.part)


def part_c_of(scan: Scan | None, part: PartState | None) -> float | None:
    """Return the part's temperature in degC: the load sensor's where there is one, else the estimate's."""
    load = None if scan is None else scan.load
    if load is not None and load.good:
        return load.value
    return None if part is None else part.core_c


def at_the_start(heat: Heat) -> HeatState:
    """Return a heat before its first tick: where its job begins, nothing seen, nothing asked for."""
    job, station = heat.job, heat.station
    first, waits = segment_at(job.profile, job.start.segment), job.wait_s > 0.0
    totals = RunTotals()
    return HeatState(
        elapsed_s=0.0,
        utc_s=0.0,
        scan=None,
        switch=SwitchState(),
        request=OFF,
        duty=0.0,
        fed=False,
        dither=0,
        unexplained=None,
        alarms=AlarmList(),
        profile=job.profile,
        cursor=job.start,
        current=first,
        state="held" if waits else "running",
        waiting=waits,
        part=station.part_start() if first.part_inside else None,
        dose=job.dose or station.dose_start(job.profile),
        totals=totals if waits else totals.enter(job.profile, job.start.segment, 0.0),
    )


def acknowledged(now: HeatState) -> HeatState:
    """Return the heat with its alarms taken as seen: the horn falls silent, nothing is reset."""
    return now._replace(alarms=now.alarms.acknowledge(now.elapsed_s), heard=True)


def noted(heat: Heat, now: HeatState, note: str) -> HeatState:
    """Return the heat with what was found of the oven, if anything: once in the record, then on screens."""
    if note in ("", now.oven_note):
        return now
    heat.recorder.event("oven", note)
    return now._replace(oven_note=note)
