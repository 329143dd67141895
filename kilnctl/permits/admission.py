"""A start at the controller's door: its oven file is read, the facts are gathered, `permit` judges."""

from dataclasses import dataclass
from typing import Any

from kilnctl.care.corrections_in_force import judged_here
from kilnctl.care.due import overdue_on
from kilnctl.clock import Clock
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, RunRefused
from kilnctl.heat.job import Job
from kilnctl.link.start import StartJob, job_key
from kilnctl.logbook.readers import Reader
from kilnctl.marks import off_stamp
from kilnctl.permits.challenge import Challenges
from kilnctl.permits.open_steps import StepResult
from kilnctl.permits.permit import Permission, StartFacts, permit, unanswered
from kilnctl.permits.preflight import free_bytes, latched, refuse_scale
from kilnctl.permits.step_results import hash_of, results
from kilnctl.tomlfile import loads

TO_DO = "`kilnctl care calibrate`, `survey` or `done` first"


@dataclass(frozen=True, slots=True)
class Asked:
    """A start with what it says, and the judgement of it."""

    start: StartJob
    oven: Oven
    job: Job
    facts: StartFacts
    permission: Permission


def admit(start: StartJob, challenges: Challenges, clock: Clock) -> Asked:
    """Judge a start by what is so now. Raises ConfigError, UnitError."""
    refuse_scale(start.time_scale)
    oven = loads(start.oven, Oven, ConfigError, start.oven_name)
    job = job_of_start(start)
    facts = _facts(start, oven, job, challenges, clock)
    return Asked(start, oven, job, facts, permit(start, oven, job, facts))


def job_of_start(start: StartJob) -> Job:
    """Return what a start asks to be done."""
    return Job(
        start.profile,
        unattended=start.unattended,
        record_only=start.record_only,
        warnings=start.warnings,
        not_checked=start.not_checked,
        planned_s=start.planned_s,
        resume_within_s=start.resume_within_s,
        resumes=start.resumes,
        wait_s=start.wait_s,
    )


def _facts(start: StartJob, oven: Oven, job: Job, challenges: Challenges, clock: Clock) -> StartFacts:
    return StartFacts(
        now_s=clock.utc().timestamp(),
        done=_done(oven.name),
        oven_hash=hash_of(start.oven),
        barred=latched(oven, job),
        free_bytes=free_bytes(),
        off_since=off_since(start, oven.name),
        challenge=challenges.why_not(start.challenge, job_key(start)),
        care=_care_refusals(oven, job, clock.utc().timestamp()),
    )


def off_since(start: StartJob, oven: str) -> str:
    """Say which off came after the person asked for a heat; empty where none did."""
    at = off_stamp.outlets(start.oven)
    why = off_stamp.off_since(start.off_stamp, home.home(), oven, at)
    return f"{why}, later than this start" if why else ""


def _done(oven: str) -> dict[str, StepResult]:
    if not home.logbook_path().is_file():
        return {}
    with Reader(home.logbook_path()) as reader:
        return results(reader, oven)


def _care_refusals(oven: Oven, job: Job, now_utc: float) -> tuple[str, ...]:
    """Return why the oven's care bars a heat: a correction too uncertain so hot, or what is overdue.

    What falls due during a heat does not end it: one that is taken up was let in before.
    """
    unsound = judged_here(oven, job.profile).refusals
    if oven.overdue != "refuse" or job.resumes is not None or not home.logbook_path().is_file():
        return unsound
    with Reader(home.logbook_path()) as reader:
        late = overdue_on(reader, oven.name, now_utc)
    return (*unsound, *(f'{words}; the oven file says overdue = "refuse": {TO_DO}' for words in late))


def insist(asked: Asked) -> None:
    """Raise RunRefused unless everything is granted. Nothing has been heated then."""
    permission = asked.permission
    if permission.refusals:
        raise RunRefused("; ".join(permission.refusals))
    if not permission.granted:
        raise RunRefused(unanswered(asked.start, asked.facts))


def page(permission: Permission, challenge: str) -> dict[str, Any]:
    """Return a judgement as the plain data of an answer: what a screen shows and asks."""
    return {
        "refusals": list(permission.refusals),
        "lines": list(permission.lines),
        "asked": permission.asked,
        "told_by": permission.told_by,
        "means": permission.means,
        "notes": list(permission.notes),
        "challenge": challenge,
    }
