"""One heat as it stands: what is to be done, where it is, what it has seen and found so far.

The runner alone moves it on, tick by tick; record, horn, forecast and commands of a person look at it here.
"""

from typing import Any

from kilnctl.clock import Clock
from kilnctl.control.time_proportioning import SwitchState
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.heat import adjust as adjusting
from kilnctl.heat.cooldown_watch import AfterHeat
from kilnctl.heat.current_segment import here
from kilnctl.heat.job import Job, ending_words
from kilnctl.heat.station import Station
from kilnctl.heat.totals import Tally
from kilnctl.heat.trend import Trend
from kilnctl.interlocks.alarms import AlarmList
from kilnctl.interlocks.contract import Distance
from kilnctl.logbook.recorder import Recorder
from kilnctl.model.part import inside
from kilnctl.profile.cursor import Cursor, Reply
from kilnctl.profile.segments import AnySegment
from kilnctl.readings import Scan, Trip
from kilnctl.stages import RunState
from kilnctl.treatment.outcome import PartSample

OFF = HeatRequest(on=False, duty=0.0)


class Heat:
    """The state of one job on one station. Times in seconds since the run began, temperatures in degC."""

    def __init__(
        self,
        station: Station,
        job: Job,
        recorder: Recorder,
        clock: Clock,
        run_id: int | None = None,
        time_scale: float = 1.0,
    ) -> None:
        self.station, self.job, self.recorder, self.clock = station, job, recorder, clock
        self.run_id, self.time_scale = run_id, time_scale
        self.reply: Reply | None = None
        self.last_command = self.oven_note = ""
        self.profile, self.cursor = job.profile, job.start
        self.here = here(job.profile, job.start.segment)
        self.waiting = job.wait_s > 0.0
        self.state: RunState = "held" if self.waiting else "running"
        self.cause = ""
        self.trip: Trip | None = None
        # Somebody has heated this oven before and nobody has seen it cold since: the controller tells.
        self.found_hot = False
        self.trip_distance: Distance | None = None
        self.trip_later: tuple[Trip, ...] = ()
        self.after: AfterHeat | None = None
        self.off_read_back: bool | None = None
        self.alarms = AlarmList()
        self.heard = False  # a person has acknowledged the call of now: the lamp stays, the horn is silent
        self.switch, self.request, self.duty, self.mode = SwitchState(), OFF, 0.0, ""
        self.part_inside = inside(job.profile, job.start.segment)
        self.part = station.part_start() if self.part_inside else None
        self.dose = job.dose or station.dose_start(job.profile)
        self.tally, self.trend = Tally(job.profile), Trend()
        self.looks: list[PartSample] = []
        self.scan: Scan | None = None
        self.unexplained: float | None = None
        self.elapsed_s = self.utc_s = 0.0

    @property
    def segment(self) -> AnySegment | None:
        """Return the segment that is running, None after the last."""
        return self.here.segment

    @property
    def segment_kind(self) -> str:
        """Return the kind of the running segment, empty after the last."""
        return self.here.kind

    @property
    def part_c(self) -> float | None:
        """Return the part's temperature: the load sensor's where there is one, else the estimate's core."""
        load = self.scan.load if self.scan is not None else None
        if load is not None and load.good:
            return load.value
        return None if self.part is None else self.part.core_c

    def planned_s(self, index: int) -> float | None:
        """Return how long a segment was planned to take, None where the plan did not say."""
        planned = self.job.planned_s
        return planned[index] if index < len(planned) else None

    def say_of_oven(self, note: str) -> None:
        """Keep what was found of the oven: once in the record, from then on on the screen."""
        if note != self.oven_note:
            self.oven_note = note
            self.recorder.event("oven", note)

    def call_again(self) -> None:
        """Sound the horn anew for what was found while a trip stands."""
        self.heard = False

    def hear(self) -> None:
        """Take the alarms as seen: the horn falls silent, nothing is reset."""
        self.alarms = self.alarms.acknowledge(self.elapsed_s)
        self.heard = True

    def adjust(self, args: dict[str, Any]) -> None:
        """Change goal, time or place in the profile as a person has asked, and `adjusting` allows."""
        before = self.cursor
        self.profile, self.cursor = adjusting.adjusted(self.profile, before, args)
        self.here = here(self.profile, self.cursor.segment)
        if self.cursor.segment != before.segment:
            self.segment_over(before)

    def segment_over(self, before: Cursor) -> None:
        """Close the segment that the cursor has left, open the next, and say in the record how it ended."""
        done, ending = self.profile.segments[before.segment], self.cursor.ending
        self.here = here(self.profile, self.cursor.segment)
        self.part_inside = inside(self.profile, self.cursor.segment)
        self.tally.close(self.elapsed_s)
        if self.cursor.segment != before.segment:
            self.tally.enter(self.cursor.segment, self.elapsed_s)
        self.recorder.event("segment", f"{done.kind} over", segment=before.segment)
        if ending == "complete":
            self.state = "complete"
        elif ending:
            self.state = "stopped" if ending == "aborted" else "aborted"
            self.cause = ending_words(ending, done)
