"""The checks that need no hands: what must hold before an oven is even connected. Refuse, never clip."""

import shutil

from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.errors import RunRefused, UnitError
from kilnctl.profile.segments import goal_c
from kilnctl.runtime.job import Job
from kilnctl.runtime.latch import refuse_latched
from kilnctl.units import say_point

# Ten times what a long heat writes, so that a disk that fills up in the run is somebody else's doing.
FREE_BYTES = 20_000_000
FASTEST = 1000.0


def preflight(oven: Oven, job: Job, time_scale: float) -> None:
    """Check a job against its oven. Raises RunRefused with one line that says what to do.

    Raises UnitError for a time scale that is not from 1 to 1000.
    """
    if not 1.0 <= time_scale <= FASTEST:
        raise UnitError(f"--time-scale {time_scale:g}: give a number from 1 to {FASTEST:g}")
    if job.profile.oven is not None and job.profile.oven != oven.name:
        raise RunRefused(f'the profile is for oven "{job.profile.oven}", not for "{oven.name}"')
    check_envelope(oven, job)
    if not job.record_only:
        refuse_latched(oven.name, job.resumes)
    if time_scale != 1.0 and not oven.simulated:
        raise RunRefused("a time scale is for simulated ovens only")
    if not (oven.simulated or oven.has_dead_man or oven.attended_only or job.record_only):
        raise RunRefused(f'oven "{oven.name}" has no dead man: no live heat without one (see the oven file)')
    if oven.attended_only and job.unattended:
        raise RunRefused(f'oven "{oven.name}" goes on heating when the computer is lost: attended runs only')
    if shutil.disk_usage(home.home()).free < FREE_BYTES:
        raise RunRefused(f"the disk of {home.home()} is nearly full; free some space first")


def check_envelope(oven: Oven, job: Job) -> None:
    """Raise RunRefused when any segment goes above the oven's limit."""
    for number, segment in enumerate(job.profile.segments, 1):
        goal = goal_c(segment)
        if goal is not None and goal >= oven.limit_c:
            raise RunRefused(
                f"segment {number}: {say_point(goal)} is not below the limit of "
                f'"{oven.name}", {say_point(oven.limit_c)}'
            )
