"""The command that heats: run. It chooses and checks the job; `handover` gives it to the controller."""

from dataclasses import replace
from typing import Annotated

from cyclopts import Parameter

from kilnctl.care.between_ovens import came_from, words_between
from kilnctl.care.corrections_in_force import judged_here
from kilnctl.care.due import everything_due
from kilnctl.care.oven_knowledge import known_of
from kilnctl.cli.heat import off_seen
from kilnctl.cli.heat.acknowledgement import Say, caution
from kilnctl.cli.heat.follow_job import hand_over, refuse_second, saying, start_for, within_s
from kilnctl.cli.heat.resume import take_up
from kilnctl.cli.heat.simulated_pace import pace_of
from kilnctl.cli.plan.plan_timing import learned_model
from kilnctl.cli.plan.soak_words import soak_words
from kilnctl.cli.terminal.options import Flag, HoldAt, HoldFor, JobName, JobsOven, Json, refuse_unused
from kilnctl.cli.terminal.select import choose_job, choose_oven
from kilnctl.clock import RealClock
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.heat.job import Job
from kilnctl.interlocks import not_checked
from kilnctl.logbook.readers import Reader
from kilnctl.permits.preflight import preflight
from kilnctl.treatment.planning import soak_job

RECORD_ONLY_S = 48 * 3600.0
RECORDED = "recorded, no heat"  # how `kilnctl runs` names it


def run(
    job: JobName = None,
    /,
    *,
    oven: JobsOven = None,
    soak: HoldAt = None,
    hold_for: HoldFor = None,
    record_only: Flag = False,
    unattended: Flag = False,
    ready_at: str | None = None,
    time_scale: float | None = None,
    part: str = "",
    operator: str = "",
    resume_within: str | None = None,
    from_run: Annotated[int | None, Parameter(name="--from")] = None,
    as_json: Json = False,
) -> int:
    """Run a recipe or profile on an oven, the real thing. Ctrl-C cuts the heat; a closed terminal does not.

    Parameters
    ----------
    record_only
        Watch and record, never heat: the best first use of a new set-up.
    unattended
        Nobody stays at the oven, an adult awake in the building can switch it off.
    ready_at
        Delay the start, with the heat off, so that all is over at this clock time (15:00); with --unattended.
        An opened door, `off`, a trip or a restart ends the wait for good.
    time_scale
        Seconds of the heat in one real second; simulated ovens only. Left out, the simulator's own speed.
    part
        The part's name in the logbook ("gouge-7").
    operator
        Who runs the heat, for the record.
    resume_within
        After a power cut let one key at the oven go on with a temper, within this time ("15min") after the
        power is back. Left out, the oven stays off.
    from_run
        Resume a run that broke off, where its kind of heat allows it; the run gives the job and its options.
    as_json
        Print one JSON object at the end.
    """
    stamps = off_seen.stamps()
    if from_run is not None:
        before = {"oven": oven, "soak": soak, "for": hold_for, "record_only": record_only, "part": part}
        why = "--from resumes a run as it was"
        refuse_unused(why, JOB=job, **before, ready_at=ready_at, time_scale=time_scale)
        return take_up(from_run, stamps, unattended, resume_within, operator, as_json)
    if record_only:
        given = {"soak": soak, "for": hold_for, "unattended": unattended, "ready_at": ready_at}
        refuse_unused("--record-only never heats", JOB=job, **given, resume_within=resume_within)
    path, chosen = choose_oven(oven, job)
    todo = _job(job, soak, hold_for, record_only, unattended, chosen)
    todo = replace(todo, resume_within_s=within_s(resume_within, todo))
    refuse_second(chosen.name)
    time_scale = pace_of(chosen, time_scale)
    preflight(chosen, todo, time_scale)
    say = saying(as_json)
    if ready_at is not None:
        from kilnctl.cli.heat.delayed_start import wait_s

        now = RealClock().utc().astimezone()
        todo = replace(todo, wait_s=wait_s(ready_at, todo, chosen, time_scale, now, say))
    if soak is not None:
        say(soak_words(todo.profile, chosen, learned_model(chosen)))
    for warning in todo.warnings:
        say(f"warning: {warning}")
    tell_due(chosen, say)
    tell_corrections(chosen, todo, say)
    tell_between(todo.profile.recipe, part, chosen.name, say)
    text = path.read_text(encoding="utf-8")
    caution(chosen, todo.not_checked, say)
    start = start_for(text, path.name, todo, time_scale, stamps)
    return hand_over(replace(start, part=part, operator=operator), chosen, say, as_json)


def tell_between(recipe: str, part: str, oven: str, say: Say) -> None:
    """Say when the part left the other oven of its recipe, and whether that is too long ago."""
    if not recipe or not home.logbook_path().is_file():
        return
    now_utc = RealClock().utc().timestamp()
    with Reader(home.logbook_path()) as reader:
        before = came_from(reader, recipe, part, oven, now_utc)
        if before is not None:
            between = words_between(reader, before, now_utc)
            say(f"the part left {before.oven}, run {before.run}: {between}")


def tell_due(oven: Oven, say: Say) -> None:
    """Say what of this oven is overdue or comes up soon."""
    if not home.logbook_path().is_file():
        return
    with Reader(home.logbook_path()) as reader:
        for due in everything_due(reader, RealClock().utc().timestamp(), oven.name):
            say(f"due: {due.what} of {due.of}: {due.words}")
        known = known_of(reader, oven)
    if known is not None and known.words():
        say(f"{known.words()}. `kilnctl tune {oven.name} --changed` accepts it")


def tell_corrections(oven: Oven, todo: Job, say: Say) -> None:
    """Say by how much a sensor's correction in force moves this heat, and how good it is there."""
    if not todo.record_only:
        for note in judged_here(oven, todo.profile).notes:
            say(note)


def _job(
    job: str | None,
    soak: str | None,
    hold_for: str | None,
    record_only: bool,
    unattended: bool,
    oven: Oven,
) -> Job:
    if record_only:
        watched = soak_job(oven.ambient_c, RECORD_ONLY_S, oven).model_copy(update={"name": RECORDED})
        return Job(watched, record_only=True)
    todo = choose_job(job, soak, hold_for, oven)
    return replace(
        todo, unattended=unattended, not_checked=not_checked(oven, learned_model(oven) is not None)
    )
