"""From the record of a heat that broke off to a job that goes on: asked at the screen, checked here again."""

from dataclasses import dataclass, replace
from typing import Any

from kilnctl.care.oven_knowledge import known_of
from kilnctl.clock import Clock, machine_start
from kilnctl.config import home
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError, ProfileError, RunRefused
from kilnctl.heat.job import Job
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.records import RunHeader
from kilnctl.logbook.sample import Sample
from kilnctl.marks import latch
from kilnctl.model.nameplate import nameplate
from kilnctl.permits.outage import Now, Outage, Then, by_clocks_s, outage_of
from kilnctl.permits.resume_rules import Cut, TakenUp, judge
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads


@dataclass(frozen=True, slots=True)
class BrokenOff:
    """A heat that has no end, or one that ended before its last segment, with the texts it was run from."""

    cut: Cut
    header: RunHeader
    oven: Oven
    then: Then


def marks(clock: Clock, job: Job) -> dict[str, Any]:
    """Return what a run's header keeps so that the run could be taken up: clocks, plan, the owner's word."""
    kept: dict[str, Any] = {
        "wait_s": job.wait_s,
        "boot": machine_start(),
        "boot_s": clock.boot_s(),
        "planned_s": list(job.planned_s),
        "resume_within_s": job.resume_within_s,
    }
    return kept if job.resumes is None else {**kept, "resumes": job.resumes, "taken_up": job.taken_up}


def broken_off(reader: Reader, run: int) -> BrokenOff:
    """Return what the record knows of a heat. Raises RunRefused where it cannot be taken up."""
    info, header, newest = reader.run(run), reader.header(run), reader.newest(run)
    if reader.runs(oven=info.oven, limit=1)[0].run != run:
        raise RunRefused(f'run {run} is not the newest of "{info.oven}": what was in the oven is not known')
    if newest is None or not header.oven_file:
        raise RunRefused(f"run {run} has no record to resume from; start a new one")
    if info.outcome == "complete":
        raise RunRefused(f"run {run} is complete; start a new one")
    if newest.elapsed_s < header.extra.get("wait_s", 0.0):
        raise RunRefused(f"run {run} was still waiting to start: nothing was heated; start it again")
    oven = loads(header.oven_file, Oven, ConfigError, f"oven file of run {run}")
    profile = loads(header.profile, Profile, ProfileError, f"profile of run {run}")
    latch.refuse_latched(oven.name, run)
    extra = header.extra
    cut = Cut(
        run,
        profile,
        newest,
        within_s=extra.get("resume_within_s"),
        ended=info.outcome,
        again="resumes" in extra,
        latched=latch.read(oven.name) is not None,
    )
    return BrokenOff(cut, header, oven, _then(header, newest))


def _then(header: RunHeader, newest: Sample) -> Then:
    boot_s = float(header.extra.get("boot_s", 0.0)) + newest.elapsed_s / header.time_scale
    return Then(newest.utc_s, boot_s, str(header.extra.get("boot", "")))


def judge_outage(reader: Reader, heat: BrokenOff, process_c: float, now: Now) -> tuple[TakenUp, Outage]:
    """Judge a heat that broke off by its record, the clocks and what the oven reads now."""
    known = known_of(reader, heat.oven)
    model = nameplate(heat.oven) if known is None else known.control_model
    clocks_s = by_clocks_s(heat.then, now)
    scaled_s = None if clocks_s is None else clocks_s * heat.header.time_scale
    outage = outage_of(scaled_s, reader.curve(heat.cut.run), model, heat.oven.ambient_c, process_c)
    same_start = bool(now.boot) and now.boot == heat.then.boot
    since_power_s = now.boot_s - heat.then.boot_s if same_start else now.boot_s
    return judge(heat.cut, outage, process_c, since_power_s), outage


def outage_now(heat: BrokenOff, process_c: float, clock: Clock) -> tuple[TakenUp, Outage]:
    """Judge with the logbook and the clocks of this machine."""
    with Reader(home.logbook_path()) as reader:
        now = Now(clock.utc().timestamp(), clock.boot_s(), machine_start())
        return judge_outage(reader, heat, process_c, now)


def job_of(heat: BrokenOff, taken: TakenUp, outage: Outage, job: Job, *, alone: bool) -> Job:
    """Return `job` beginning where the heat broke off.

    Raises RunRefused where it may not go on, or not by one key (`alone`).
    """
    if taken.way == "never":
        raise RunRefused(f"run {heat.cut.run} cannot be resumed: {taken.why}")
    if alone and taken.way != "alone":
        raise RunRefused(f"run {heat.cut.run} needs a person: {'; '.join(taken.not_alone)}")
    said = f"run {heat.cut.run} resumed: {outage.line()}; {taken.why}"
    return replace(job, start=taken.start, dose=taken.dose, resumes=heat.cut.run, taken_up=said)


def job_as_it_was(heat: BrokenOff) -> Job:
    """Return the job of a heat as it was started, before anybody says from where it goes on."""
    planned_s = tuple(heat.header.extra.get("planned_s", ()))
    return Job(heat.cut.profile, unattended=heat.header.unattended, planned_s=planned_s, resumes=heat.cut.run)
