"""May this heat begin? One judgement for every start, in the process that heats; it reads nothing.

A start and the facts go in; out come refusals, or the lines that a person must still acknowledge, or yes.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from kilnctl.care.offset_of_file import unjudged
from kilnctl.config.oven import Oven
from kilnctl.heat.job import Job
from kilnctl.link.start import PROVED, StartJob
from kilnctl.permits.cautions import cautions, fill, told_by, unattended_lines
from kilnctl.permits.couple_proof import couple_unproved
from kilnctl.permits.needed_steps import NEVER_ALONE, TEMPER_C, kind_of, needs, spared
from kilnctl.permits.open_steps import StepResult, open_or_overdue
from kilnctl.permits.preflight import refusals as preflight_refusals
from kilnctl.permits.setup_steps import BY_NAME
from kilnctl.units import say_point

TAKEN_UP = "The oven was not opened, nothing was changed, and run {run} may go on."


@dataclass(frozen=True, slots=True)
class StartFacts:
    """What is so while a start is judged. `now_s` is unix time, `done` the newest result of each step.

    `barred` is why the latch bars this job (empty: it does not), `free_bytes` what is left on the disk.
    `off_since` says which off came after the person asked for the heat (empty: none), `challenge` why the
    answer to the question about the lines does not count (empty: it does), `care` why the corrections of its
    sensors, or what is overdue of it, bar this heat.
    """

    now_s: float
    done: Mapping[str, StepResult]
    oven_hash: str
    barred: str
    free_bytes: int
    off_since: str = ""
    challenge: str = "nobody was asked"
    care: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Permission:
    """The judgement. `refusals` stand in the way; without any, `lines` are acknowledged, a key each.

    `granted` is True only where nothing is left to do. `asked` is False where no person is needed. `means`
    says what unattended means, `told_by` by what the oven calls; `notes` are said before the lines.
    """

    granted: bool
    refusals: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    asked: bool = True
    told_by: str = ""
    means: str = ""
    notes: tuple[str, ...] = ()


def permit(start: StartJob, oven: Oven, job: Job, facts: StartFacts) -> Permission:
    """Judge a start. `oven` and `job` are what its texts say."""
    refusals = [facts.off_since] if facts.off_since else []
    refusals += preflight_refusals(oven, job, start.time_scale, facts.barred, facts.free_bytes)
    if job.record_only:
        return Permission(not refusals, tuple(refusals), asked=False)
    refusals += (*facts.care, *_never(oven, job))
    live = not oven.simulated
    refusals += _set_up(oven, job, facts) if live else ()
    if live and start.presence == "nobody":
        refusals.append("nobody can be asked here; start it from a terminal")
    lines = _lines(start, oven, job, facts.done)
    answered = not live or (not facts.challenge and start.acknowledged == lines and start.presence in PROVED)
    return Permission(
        granted=answered and not refusals,
        refusals=tuple(refusals),
        lines=lines,
        asked=live,
        told_by=told_by(oven, facts.done.get("horn and messages")),
        means=cautions().unattended_means if job.unattended else "",
        notes=_notes(oven, job, facts) if live else (),
    )


def permit_drill(
    step: str, oven: Oven, done: Mapping[str, StepResult], now_s: float, oven_hash: str, off_since: str
) -> tuple[str, ...]:
    """Return what stands in the way of a set-up drill that heats; who does it is asked by the walk.

    The steps that must come before it must hold for this oven; without a dead-man only its own test may heat.
    """
    before = [BY_NAME[name] for name in BY_NAME[step].after if name not in spared(oven)]
    found = [off_since] if off_since else []
    found += unjudged(oven)
    found += open_or_overdue(before, done, now_s, oven, oven_hash)
    if not (oven.simulated or oven.has_dead_man or oven.attended_only):
        found.append(f'oven "{oven.name}" has no dead-man: it can be watched, not heated (see the oven file)')
    return tuple(found)


def unanswered(start: StartJob, facts: StartFacts) -> str:
    """Say what is missing of a person's answer where nothing else stands in the way."""
    if facts.challenge:
        return f"the lines were not acknowledged: {facts.challenge}"
    if start.presence not in PROVED:
        return "nothing shows that you are at the machine"
    return "what was acknowledged is not what this heat asks for; start it again"


def _set_up(oven: Oven, job: Job, facts: StartFacts) -> tuple[str, ...]:
    """Return what is missing of the set-up of a live oven."""
    missing = needs(kind_of(job.profile, job.unattended), oven)
    found = open_or_overdue(missing, facts.done, facts.now_s, oven, facts.oven_hash)
    unproved = couple_unproved(oven, facts.done, facts.now_s, facts.oven_hash) if job.unattended else ""
    return (*found, unproved) if unproved else found


def _notes(oven: Oven, job: Job, facts: StartFacts) -> tuple[str, ...]:
    unproved = couple_unproved(oven, facts.done, facts.now_s, facts.oven_hash)
    return (f"{unproved}. Until then stay and watch it.",) if unproved and not job.unattended else ()


def _never(oven: Oven, job: Job) -> tuple[str, ...]:
    """Return what is never left alone, whatever was proved."""
    if not job.unattended:
        return ()
    purposes = sorted({s.purpose for s in job.profile.segments} & set(NEVER_ALONE))
    said = [f'"{purpose}" is never left alone' for purpose in purposes]
    if oven.simulated:
        return tuple(said)
    second = oven.signal.second
    if job.profile.peak_c > TEMPER_C and (second is None or second.apart_k is not None):
        beside = "" if second is None else " beside the first"
        said.append(f"above {say_point(TEMPER_C)} an unattended heat needs a second sensor{beside}")
    if job.wait_s > 0.0 and oven.signal.door_open is None:
        said.append(
            "a heat that waits to start needs a door switch: nobody would see that the oven was opened"
        )
    return tuple(said)


def _lines(start: StartJob, oven: Oven, job: Job, done: Mapping[str, StepResult]) -> tuple[str, ...]:
    """Return the lines that a person acknowledges; one is left where the owner had agreed beforehand."""
    if start.resumes is not None and start.way == "alone":
        return (TAKEN_UP.format(run=start.resumes),)
    within_s = job.resume_within_s
    if job.unattended:
        return unattended_lines(oven, done, None if within_s is None else within_s / 60.0)
    return (fill(cautions().attended, oven),)
