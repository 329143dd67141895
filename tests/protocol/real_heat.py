"""A whole heat in this process, in real time, over the bytes of a device that a test has put on a port."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.errors import ConfigError
from kilnctl.heat.heat_state import Heat
from kilnctl.heat.job import Job, Outcome
from kilnctl.heat.runner import Runner
from kilnctl.heat.station import station_for
from kilnctl.logbook.recorder import Recorder
from kilnctl.logbook.records import RunHeader
from kilnctl.logbook.writer import Logbook
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads


def heat(
    text: str, folder: Path, segments: list[dict[str, Any]], on_tick: Callable[[Runner], object]
) -> Outcome:
    """Heat the oven of a file through some segments, to its end; `on_tick` is what a person does."""
    oven, clock = loads(text, Oven, ConfigError, "heat"), RealClock()
    profile = Profile.model_validate({"name": "p", "segment": tuple(segments)})
    oven_io = open_oven_io(oven, clock)
    try:
        oven_io.connect()
        with Logbook(folder / "book") as book:
            run = book.start_run(RunHeader(oven.name, text, "", "p", started_utc=clock.utc().timestamp()))
            recorder = Recorder(book, run, clock)
            station = station_for(oven, profile, oven_io)
            outcome = Runner(Heat(station, Job(profile), recorder, clock, run, 1.0), on_tick).run()
    finally:
        oven_io.close()
    print(outcome.outcome, outcome.cause)
    return outcome
