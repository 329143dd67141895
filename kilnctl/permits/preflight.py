"""The checks that need no I/O: what must hold before an oven is even connected. Refuse, never clip."""

import shutil
from collections.abc import Iterator

from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.errors import RunRefused, UnitError
from kilnctl.heat.job import Job
from kilnctl.marks.latch import refuse_latched
from kilnctl.profile.segments import goal_c
from kilnctl.units import say_point

# Ten times what a long heat writes, so that a disk that fills up in the run is somebody else's doing.
FREE_BYTES = 20_000_000
FASTEST = 1000.0


def preflight(oven: Oven, job: Job, time_scale: float) -> None:
    """Check a job against its oven, latch and disk. Raises RunRefused with one line that says what to do.

    Raises UnitError for a time scale that is not from 1 to 1000.
    """
    refuse_scale(time_scale)
    for why in refusals(oven, job, time_scale, latched(oven, job), free_bytes()):
        raise RunRefused(why)


def refuse_scale(time_scale: float) -> None:
    """Raise UnitError for a time scale that is not from 1 to 1000."""
    if not 1.0 <= time_scale <= FASTEST:
        raise UnitError(f"--time-scale {time_scale:g}: give a number from 1 to {FASTEST:g}")


def latched(oven: Oven, job: Job) -> str:
    """Return why the latch bars a job that heats, empty where it does not."""
    try:
        refuse_latched(oven.name, job.resumes)
    except RunRefused as e:
        return "" if job.record_only else str(e)
    return ""


def free_bytes() -> int:
    """Return the free space on the disk of the home folder."""
    return shutil.disk_usage(home.home()).free


def refusals(oven: Oven, job: Job, time_scale: float, barred: str, free: int) -> Iterator[str]:
    """Yield what stands in the way of a job on an oven, whoever asks for it.

    `barred` is what its latch says, `free` the bytes that are left on the disk.
    """
    if not 1.0 <= time_scale <= FASTEST:
        yield f"a time scale is a number from 1 to {FASTEST:g}"
    if job.profile.oven is not None and job.profile.oven != oven.name:
        yield f'the profile is for oven "{job.profile.oven}", not for "{oven.name}"'
    yield from _above(oven, job)
    if barred:
        yield barred
    if time_scale != 1.0 and not oven.simulated:
        yield "a time scale is for simulated ovens only"
    if not (oven.simulated or oven.has_dead_man or oven.attended_only or job.record_only):
        yield f'oven "{oven.name}" has no dead-man: no live heat, attended or not (see the oven file)'
    if oven.attended_only and job.unattended:
        yield f'oven "{oven.name}" goes on heating when the computer is lost: attended runs only'
    if job.unattended and not oven.dead_man_seen:
        yield f'nothing sees the timer relay of "{oven.name}" drop but a lamp: attended runs only'
    if free < FREE_BYTES:
        yield f"the disk of {home.home()} is nearly full; free some space first"


def check_envelope(oven: Oven, job: Job) -> None:
    """Raise RunRefused when any segment goes above the oven's limit."""
    for why in _above(oven, job):
        raise RunRefused(why)


def _above(oven: Oven, job: Job) -> Iterator[str]:
    for number, segment in enumerate(job.profile.segments, 1):
        goal = goal_c(segment)
        if goal is not None and goal >= oven.limit_c:
            yield (
                f"segment {number}: {say_point(goal)} is not below the limit of "
                f'"{oven.name}", {say_point(oven.limit_c)}'
            )
        elif goal is not None and goal > oven.highest_goal_c and oven.output.heater.highest_c is not None:
            yield (
                f"segment {number}: {say_point(goal)} is more than {oven.name} may do, "
                f"{say_point(oven.highest_goal_c)}: its instrument takes no higher set-point"
            )
