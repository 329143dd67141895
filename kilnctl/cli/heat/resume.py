"""Taking up a heat that broke off: off, thirty good seconds, what the record says, and a person's word."""

from dataclasses import replace
from typing import Literal

from kilnctl.cli.heat.acknowledgement import Say, caution
from kilnctl.cli.heat.follow_job import hand_over, refuse_second, saying, start_for, within_s
from kilnctl.cli.plan.plan_timing import learned_model
from kilnctl.clock import Clock, RealClock
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import OvenIO
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.interlocks import not_checked
from kilnctl.logbook.readers import Reader
from kilnctl.marks import off_stamp
from kilnctl.permits.good_readings import good_readings
from kilnctl.permits.preflight import preflight
from kilnctl.permits.resume_job import broken_off, job_as_it_was, job_of, outage_now
from kilnctl.processes.off_order import answering

# Horn, lamp and bell before a question that may end in heat.
WARNING_S = 3.0
BELL = "\a"


def take_up(
    run: int,
    stamps: off_stamp.Token,
    unattended: bool,
    resume_within: str | None,
    operator: str,
    as_json: bool,
) -> int:
    """Take up run `run` where its kind of heat allows it; return the exit code of the heat that follows.

    `stamps` is what was seen of the off stamps as the first act of the command.
    Nothing is heated before the oven has been read for 30 s with the heat off and a person has said yes.
    Raises RunRefused with what the metallurgy, the record or the oven says against it.
    """
    say = saying(as_json)
    with Reader(home.logbook_path()) as reader:
        heat = broken_off(reader, run)
    oven, scale = heat.oven, heat.header.time_scale
    todo = replace(job_as_it_was(heat), not_checked=not_checked(oven, learned_model(oven) is not None))
    todo = replace(todo, resume_within_s=within_s(resume_within, todo))
    refuse_second(oven.name)
    preflight(oven, todo, scale)
    clock = RealClock(scale)
    found, outage = outage_now(heat, _reads_c(oven, clock, scale, say), clock)
    say(outage.line())
    alone = found.way == "alone"
    todo = job_of(
        heat, found, outage, replace(todo, unattended=todo.unattended if alone else unattended), alone=alone
    )
    say(found.why)
    if not alone:
        say(f"somebody must be there: {'; '.join(found.not_alone)}")
    say(BELL)
    caution(oven, todo.not_checked, say)
    start = start_for(heat.header.oven_file, f"oven file of run {run}", todo, scale, stamps)
    way: Literal["alone", "attended"] = "alone" if alone else "attended"
    by = operator or heat.header.operator
    return hand_over(replace(start, way=way, part=heat.header.part, operator=by), oven, say, as_json)


def _reads_c(oven: Oven, clock: Clock, scale: float, say: Say) -> float:
    """Return what the oven reads after 30 s of good readings with the heat off, and warn who stands near."""
    with answering(oven, clock) as buses:
        return _good_for_long(oven, open_oven_io(oven, clock, scale, buses), clock, scale, say)


def _good_for_long(oven: Oven, oven_io: OvenIO, clock: Clock, scale: float, say: Say) -> float:
    try:
        oven_io.connect()
        process = good_readings(oven_io, oven, clock, say).process
        oven_io.sound(horn=True, lamp=True)
        clock.pause(WARNING_S / scale)
        oven_io.sound(horn=False, lamp=False)
        assert process.value is not None  # it was good
        return process.value
    finally:
        oven_io.close()
