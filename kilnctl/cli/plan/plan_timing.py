"""When a plan is ready, when to start for it, and when the other oven must be hot."""

import re
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from kilnctl.config.home import known, logbook_path
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import RecordError, RunRefused, UnitError
from kilnctl.model.maker_constants import first_guess
from kilnctl.model.oven_model import OvenModel
from kilnctl.profile.segments import Ramp
from kilnctl.treatment.hand_over import waits_hot_after_s
from kilnctl.treatment.job_file import find_job, is_profile, load_job
from kilnctl.treatment.planning import Plan
from kilnctl.treatment.readiness import preheat_lead_s
from kilnctl.treatment.recipe.recipes import load_recipe
from kilnctl.units import say_duration, say_point

if TYPE_CHECKING:
    from kilnctl.care.oven_knowledge import Known
    from kilnctl.treatment.steel.own_results import OwnFit, OwnResult
    from kilnctl.treatment.steel.steels import Steel


def ready_lines(made: Plan, ready: datetime | None) -> tuple[str, ...]:
    """Return when the heat is ready, and for a wall time when to start at the latest."""
    r = made.readiness
    margin = f"{say_duration(r.late_s)} with 10 % to spare on every ramp"
    lines = [f"{r.what.capitalize()} after about {say_duration(r.ready_s)} ({margin})."]
    if ready is not None:
        lines.append(f"{r.what.capitalize()} at {ready:%H:%M}: start by {r.start_at(ready):%a %H:%M}.")
    return tuple(lines)


def parse_ready(text: str, now: datetime) -> datetime:
    """Return the next moment with a wall time like 15:00. Raises UnitError for anything else."""
    match = re.fullmatch(r"([01]?\d|2[0-3]):([0-5]\d)", text.strip())
    if match is None:
        raise UnitError(f'cannot read {text!r} as a time of day; write it like "15:00"')
    moment = now.replace(hour=int(match[1]), minute=int(match[2]), second=0, microsecond=0)
    return moment if moment > now else moment + timedelta(days=1)


def ready_moment(made: Plan, text: str, now: datetime) -> datetime:
    """Return the wall time to be ready at. Raises UnitError, or RunRefused where it is too late to start."""
    ready = parse_ready(text, now)
    start = made.readiness.start_at(ready)
    if start < now:
        raise RunRefused(
            f"to be {made.readiness.what} at {ready:%H:%M} it would have had to start at {start:%H:%M}; "
            "choose a later --ready-at"
        )
    return ready


def known_oven(oven: Oven) -> "Known | None":
    """Return what the logbook knows of an oven; None without a readable logbook, or of one not learned."""
    if not logbook_path().is_file():
        return None
    from kilnctl.care.oven_knowledge import known_of
    from kilnctl.logbook.readers import Reader

    try:
        with Reader(logbook_path()) as reader:
            return known_of(reader, oven)
    except RecordError:
        return None


def overdue(oven: Oven) -> tuple[str, ...]:
    """Return what of an oven is overdue today, in words; nothing without a readable logbook."""
    if not logbook_path().is_file():
        return ()
    from kilnctl.care.due import overdue_on
    from kilnctl.clock import RealClock
    from kilnctl.logbook.readers import Reader

    try:
        with Reader(logbook_path()) as reader:
            return overdue_on(reader, oven.name, RealClock().utc_s())
    except RecordError:
        return ()


def overdue_lines(oven: Oven) -> tuple[str, ...]:
    """Return a plan's lines about what is overdue of its oven, and what the oven file makes of it."""
    then = "; its file lets no heat start until that is done" if oven.overdue == "refuse" else ""
    return tuple(f"OVERDUE on {oven.name}: {words}{then} (`kilnctl care due`)" for words in overdue(oven))


def learned_model(oven: Oven) -> OvenModel | None:
    """Return the model that a heat on an oven is planned with: as learned, with what heats found changed."""
    known = known_oven(oven)
    return None if known is None else known.likely_model


def own_results(steel: "Steel") -> "tuple[OwnResult, ...]":
    """Return what the shop measured on a grade; nothing without a readable logbook."""
    if not logbook_path().is_file():
        return ()
    from kilnctl.care.own_hardness import own_hardness
    from kilnctl.logbook.readers import Reader

    try:
        with Reader(logbook_path()) as reader:
            return own_hardness(reader, steel).results
    except RecordError:
        return ()


def own_fit(steel: "Steel") -> "OwnFit | None":
    """Return the regression over the shop's own results of a grade, None with fewer than three."""
    results = own_results(steel)
    if not results:
        return None
    from kilnctl.treatment.steel.own_results import base_of, counts_of, fit_own

    found = fit_own(base_of(steel), results)
    return None if found is None else replace(found, counts=counts_of(steel, found.counts.own))


def companion_lines(job: str, chosen: Oven, made: Plan, ready: datetime | None) -> tuple[str, ...]:
    """Return when the tempering oven must start, or that it starts with the part in it."""
    path = find_job(job)
    if made.readiness.what != "ready to quench" or is_profile(path):
        return ()
    tempers = [t for t in load_recipe(path).treatment if t.do == "temper" and t.oven]
    lines = []
    for name in dict.fromkeys(t.oven for t in tempers if t.oven):
        if name != chosen.name and name in known("ovens"):
            other = load_oven(known("ovens")[name])
            segments = load_job(job, other).profile.segments
            at_c = next(s.to_c for s in segments if isinstance(s, Ramp))
            if not any(t.load == "hot" for t in tempers if t.oven == name):
                lines.append(_with_the_part(name, at_c))
                continue
            at_full_s = preheat_lead_s(other, learned_model(other) or first_guess(other), at_c)
            lines.append(_companion(name, at_c, waits_hot_after_s(segments, at_full_s), ready))
    return tuple(lines)


def _with_the_part(name: str, at_c: float) -> str:
    """Return one line about an oven that is not started before its part lies in it."""
    return (
        f"Keep {name} free: it heats to {say_point(at_c)} with the part in it. To have it hot before the "
        'quench, write load = "hot" in the temper.'
    )


def _companion(name: str, at_c: float, lead_s: float, ready: datetime | None) -> str:
    """Return one line about the oven that must be hot before the quench."""
    when = f"{say_duration(lead_s)} before the quench"
    if ready is not None:
        when = f"by {ready - timedelta(seconds=lead_s):%H:%M}, {when}"
    return f"Start {name} for {say_point(at_c)} {when}, so that it is hot and settled."
