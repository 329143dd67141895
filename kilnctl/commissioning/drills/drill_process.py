"""A drill in a process of its own, under a supervisor of its own: it beats, it is marked, it obeys off.

`python -m kilnctl.commissioning.drills.drill_process JOB --beat-fd N`, started by the supervisor that
`drill_job` starts. It looks some times a second at what it is held by; when one of that is gone, or says
off, it cuts the heat, reads it back, and ends.
"""

import json
import signal
import sys
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path

from kilnctl.clock import Clock, RealClock
from kilnctl.commissioning.drills import drills
from kilnctl.commissioning.drills.dead_man_kill_test import kill
from kilnctl.commissioning.drills.drill_job import KILLED, DrillJob
from kilnctl.commissioning.drills.held_drills import wired_for
from kilnctl.commissioning.drills.leash import DrilledOven, Leash
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.interfaces import OvenIO
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError, DeviceError, KilnctlError, RunRefused
from kilnctl.link import wire
from kilnctl.logbook.readers import Reader
from kilnctl.marks import known_wiring, off_stamp, running_ovens
from kilnctl.marks.mark_writer import Ties, Writer
from kilnctl.marks.oven_identity import identity_of
from kilnctl.model.oven_model import OvenModel
from kilnctl.permits.dead_man_test import Finding
from kilnctl.permits.permit import permit_drill
from kilnctl.permits.step_results import hash_of, results
from kilnctl.processes.heartbeat import OFF_NOT_READ, Beat
from kilnctl.processes.tell_on import tell_on
from kilnctl.tomlfile import loads

GONE = "the drill was not begun: its job is gone. Was the kilnctl folder moved? Begin this step again."


def main(words: list[str]) -> int:
    """Do one drill; exit code 0 when the heat was read back as off at its end."""
    try:
        job = wire.read(DrillJob, json.loads(Path(words[0]).read_text(encoding="utf-8")), "drill")
    except FileNotFoundError:
        _report(Finding(False, None, GONE))
        return 0
    beat = Beat(int(words[-1])) if "--beat-fd" in words else None
    oven = loads(job.oven, Oven, ConfigError, "oven file")
    watch = off_stamp.StampWatch(job.off_stamp, home.home(), oven.name, off_stamp.outlets(job.oven))
    # The name of its device it takes itself, or ends. No latch bars a drill: a reset may ask for one.
    writer = Writer(oven.name, watch, Ties(lambda: beat is None or not beat.alone, lambda _oven: ""))
    leash = Leash(beat, writer.why_go_off, sys.stdout.fileno())
    for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGINT):
        signal.signal(number, leash.told)
    clock = RealClock(job.time_scale)
    off = True
    held = DrilledOven(oven, clock, leash)
    try:
        _insist(job, oven, clock)
        with held.on_the_line(job.oven):
            _refuse_if(writer.why_not_begin())
            running_ovens.mark(oven.name, job.oven)
            known_wiring.keep(oven, job.oven)
            _refuse_if(writer.why_no_heat())
            off, found = False, Finding(False, None, "the drill broke off")
            try:
                found = _drilled(job, oven, clock, leash)
            except KilnctlError as e:
                found = Finding(False, None, f"{leash.why or e}.")
            finally:
                _report(found)  # before the last off: with the cable out that takes longer than a beat
                off = held.leave()
    except (KilnctlError, OSError) as e:  # a folder that was moved or filled up under the drill
        _report(Finding(False, None, f"{leash.why or e}."))
    return 0 if off else OFF_NOT_READ


def _report(finding: Finding) -> None:
    tell_on(json.dumps({"found": asdict(finding)}))


def _insist(job: DrillJob, oven: Oven, clock: Clock) -> None:
    """Raise RunRefused unless this drill may heat this oven now."""
    off = off_stamp.off_since(job.off_stamp, home.home(), oven.name, off_stamp.outlets(job.oven))
    with Reader(home.logbook_path()) as reader:
        done = results(reader, oven.name)
    refusals = permit_drill(job.step, oven, done, clock.utc().timestamp(), hash_of(job.oven), off or "")
    if refusals:
        raise RunRefused("; ".join(refusals))


def _refuse_if(why: str) -> None:
    if why:
        raise RunRefused(why)


def _drilled(job: DrillJob, oven: Oven, clock: Clock, leash: Leash) -> Finding:
    if job.drill == KILLED:
        probe = Probe(oven, clock)
        try:
            return kill(job.oven, job.time_scale, probe, clock, job.quiet, leash.go_on)
        finally:
            probe.close()
    buses = Buses(clock)
    beside = _beside(job, oven, clock, buses)
    try:
        return drills.run(
            job.drill,
            oven,
            open_oven_io(wired_for(job.drill, oven), clock, job.time_scale, buses),
            clock,
            model=None if job.model is None else OvenModel.from_dict(job.model),
            neighbours=beside,
            tell=_tell,
            go_on=leash.go_on,
        )
    finally:
        for oven_io in beside.values():
            oven_io.close()


def _beside(job: DrillJob, oven: Oven, clock: Clock, buses: Buses) -> Mapping[str, OvenIO]:
    """Return the I/O of other ovens that can be reached: a pulse must not warm them."""
    found: dict[str, OvenIO] = {}
    for text in job.beside:
        try:
            other = loads(text, Oven, ConfigError, "another oven's file")
            if identity_of(other).same_device(identity_of(oven)):
                continue  # another file of this oven: no neighbour, and its off may be this one's on
            oven_io = open_oven_io(other, clock, job.time_scale, buses)
            oven_io.connect()
            found[other.name] = oven_io
            _tell(f"watching {other.name} too")
        except (ConfigError, DeviceError, RunRefused) as e:
            _tell(f"an oven beside {oven.name} is not watched: {e}")
    return found


def _tell(line: str) -> None:
    tell_on(json.dumps({"tell": line}))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
