"""What `kilnctl plan` answers: segments with reasons, sources and times, on screen, file and card."""

import dataclasses
import json
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kilnctl.care.offset_of_file import unjudged
from kilnctl.cli.plan.plan_timing import learned_model, own_fit
from kilnctl.clock import RealClock
from kilnctl.config.home import known, logbook_path
from kilnctl.config.oven import Oven, find_oven
from kilnctl.errors import ConfigError
from kilnctl.profile.write import profile_toml
from kilnctl.treatment.job_file import find_job, is_profile, load_job, oven_of
from kilnctl.treatment.planning import Plan
from kilnctl.treatment.recipe.recipes import load_recipe

if TYPE_CHECKING:
    from kilnctl.report.charts.forecast_series import ForecastSeries


def answer(
    recipe: str,
    oven: str | None,
    out: Path | None,
    ready_at: str | None,
    chart: Path | None,
    card: Path | None,
    as_json: bool,
) -> int:
    """Do what `kilnctl plan` was asked; its words are explained there."""
    from kilnctl.cli.plan.forecast_page import as_data, as_series, forecast_from_cold, write_plan_chart
    from kilnctl.cli.plan.plan_page import print_ahead, print_others, print_plan
    from kilnctl.cli.plan.plan_timing import companion_lines, overdue_lines, ready_lines, ready_moment

    chosen = resolve_oven(recipe, oven)
    model = learned_model(chosen)
    made = with_corrections(load_job(recipe, chosen, model, own_fit), chosen)
    others = () if oven is not None else other_plans(recipe, chosen)
    ahead = forecast_from_cold(made.profile, chosen, model, [row.duration_s for row in made.rows])
    ready = None if ready_at is None else ready_moment(made, ready_at, RealClock().utc().astimezone())
    if out is not None:
        from kilnctl.cli.terminal.by_asking import save

        save(profile_toml(made.profile), out)
    if chart is not None:
        write_plan_chart(ahead, model, made, chart)
    late = overdue_lines(chosen)
    timing = (*late, *ready_lines(made, ready), *companion_lines(recipe, chosen, made, ready))
    if card is not None:
        write_card(made, as_series(ahead, model), timing, card)
    if as_json:
        more = {"predicted": as_data(ahead, model), "others": [plan_json(other) for other in others]}
        print(json.dumps({**plan_json(made, ready), **more, "overdue": late}))
    else:
        print_plan(made, timing)
        print_ahead(ahead, made, model)
        print_others(others)
    return 0


def other_plans(job: str, chosen: Oven) -> tuple[Plan, ...]:
    """Return what the other ovens of a recipe do, in order; an oven that has no file here is left out."""
    path = find_job(job)
    if is_profile(path):
        return ()
    recipe = load_recipe(path)
    names = dict.fromkeys(name for t in recipe.treatment if (name := t.oven or recipe.oven))
    ovens = [find_oven(name) for name in names if name != chosen.name and name in known("ovens")]
    return tuple(
        with_corrections(load_job(job, other, learned_model(other), own_fit), other) for other in ovens
    )


def with_corrections(made: Plan, oven: Oven) -> Plan:
    """Return a plan that says which corrections its heat would use, and which it refuses to use."""
    if not logbook_path().is_file():
        return dataclasses.replace(made, warnings=(*made.warnings, *unjudged(oven)))
    from kilnctl.care.corrections_in_force import judged_here

    found = judged_here(oven, made.profile)
    return dataclasses.replace(
        made, notes=(*made.notes, *found.notes), warnings=(*made.warnings, *found.refusals)
    )


def write_card(made: Plan, told: "ForecastSeries", timing: tuple[str, ...], out: Path) -> None:
    """Write a plan as one page. Raises ConfigError for another ending or a file that cannot be written."""
    from kilnctl.cli.terminal.tell import tell_boxes
    from kilnctl.report.layout.page_file import write_page
    from kilnctl.report.plan_card import plan_card
    from kilnctl.report.workshop import workshop

    tell_boxes(out, write_page(plan_card(made, told, timing, workshop()), out))


def resolve_oven(job: str, oven: str | None) -> Oven:
    """Return the oven of a job: the one named, else the job's own, else the only one there is.

    Raises ConfigError, naming the choices.
    """
    name = oven or oven_of(find_job(job))
    if name is None:
        choices = sorted(known("ovens"))
        if len(choices) != 1:
            raise ConfigError(f"say which oven: --oven {' or --oven '.join(choices)}")
        name = choices[0]
    return find_oven(name)


def plan_json(made: Plan, ready: datetime | None = None) -> dict[str, Any]:
    """Return a plan as plain data."""
    readiness: dict[str, Any] = dataclasses.asdict(made.readiness)
    if ready is not None:
        readiness |= {"ready_at": ready.isoformat(), "start_by": made.readiness.start_at(ready).isoformat()}
    return {
        "oven": made.oven,
        "steel": made.steel.grade if made.steel else None,
        "profile": made.profile.model_dump(mode="json"),
        "rows": [dataclasses.asdict(row) for row in made.rows],
        "warnings": list(made.warnings),
        "notes": list(made.notes),
        "elsewhere": list(made.elsewhere),
        "readiness": readiness,
        "exposure": dataclasses.asdict(made.exposure),
        "total_s": made.total_s,
        "energy_kwh": made.energy_kwh,
        "learned": made.learned,
    }
