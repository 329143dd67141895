"""Which oven and which job are meant: shared by the commands that heat and those that rehearse."""

from pathlib import Path

from kilnctl.cli.plan.plan_timing import learned_model, own_fit
from kilnctl.config import home
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ConfigError, ProfileError
from kilnctl.heat.job import Job
from kilnctl.treatment.job_file import find_job, load_job, oven_of
from kilnctl.treatment.planning import Plan, soak_job
from kilnctl.units import parse_duration_s, parse_point_c


def choose_oven(name: str | None, job: str | None = None, option: str = "--oven ") -> tuple[Path, Oven]:
    """Return the oven that is meant: the one named, the one the job names, or the only one the owner has.

    Raises ConfigError, which shows how the command takes an oven: after an option, or with "" alone.
    """
    if name is None and job is not None:
        name = oven_of(find_job(job))
    if name is not None:
        path = home.find(name, "ovens", ConfigError)
        return path, load_oven(path)
    own = sorted((home.home() / "ovens").glob("*.toml"))
    if len(own) != 1:
        raise ConfigError(f"say which oven: {option}{' | '.join(home.known('ovens'))}")
    return own[0], load_oven(own[0])


def job_of_plan(plan: Plan, *, unattended: bool = False, not_checked: tuple[str, ...] = ()) -> Job:
    """Return the job of a checked plan."""
    return Job(
        plan.profile,
        unattended=unattended,
        warnings=plan.warnings,
        not_checked=not_checked,
        planned_s=tuple(row.duration_s for row in plan.rows),
    )


def choose_job(job: str | None, soak: str | None, hold_for: str | None, oven: Oven) -> Job:
    """Return the job that the words mean. Raises ProfileError, UnitError or RunRefused."""
    if soak is not None or hold_for is not None:
        if job is not None or soak is None or hold_for is None:
            raise ProfileError("give either a JOB or both --soak and --for, like: --soak 218C --for 2h")
        return Job(soak_job(parse_point_c(soak), parse_duration_s(hold_for), oven))
    if job is None:
        raise ProfileError("say what to run: a recipe or profile file, or --soak 218C --for 2h")
    return job_of_plan(load_job(job, oven, learned_model(oven), own_fit))
