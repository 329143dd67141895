"""The trade's commands: steel, recipe new, plan."""

import dataclasses
import json
import sys
import tomllib
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

from kilnctl.cli.options import Json
from kilnctl.clock import RealClock
from kilnctl.config.home import known
from kilnctl.config.oven import Oven, find_oven
from kilnctl.errors import ConfigError, ProfileError
from kilnctl.profile.write import profile_toml
from kilnctl.treatment.job import find_job, load_job, oven_of
from kilnctl.treatment.planning import Plan


def steel(grade: str | None = None, /, *, as_json: Json = False) -> int:
    """Show a steel card with the source of every number, or the list of cards.

    Parameters
    ----------
    grade
        A grade (O1, 5160, ...) or the path of a card.
    as_json
        Print the card as one JSON object.
    """
    from kilnctl.cli.card_page import print_card, print_cards
    from kilnctl.treatment.steels import load_steel

    if grade is None:
        cards = [load_steel(path) for path in known("steels").values()]
        if as_json:
            print(json.dumps([card.model_dump(mode="json") for card in cards]))
        else:
            print_cards(cards)
        return 0
    card = load_steel(grade)
    if as_json:
        print(json.dumps(card.model_dump(mode="json")))
    else:
        print_card(card)
    return 0


def plan(
    recipe: str,
    /,
    *,
    oven: str | None = None,
    out: Path | None = None,
    ready_at: str | None = None,
    chart: Path | None = None,
    as_json: Json = False,
) -> int:
    """Show what a recipe becomes: every step with temperature, rate, time, reason and source.

    Parameters
    ----------
    recipe
        A recipe or profile file, or the name of a bundled one.
    oven
        An oven file or name; left out, the oven that the recipe names.
    out
        Write the profile to this file.
    ready_at
        The wall time (15:00) at which the part should be ready; says when to start.
    chart
        Draw the predicted curve with its band into this file (.png, .svg or .pdf).
    as_json
        Print the whole plan as one JSON object.
    """
    from kilnctl.cli.asking import save
    from kilnctl.cli.foreseeing import as_data, foresee, write_plan_chart
    from kilnctl.cli.plan_page import print_ahead, print_plan
    from kilnctl.cli.plan_timing import companion_lines, learned, ready_lines, ready_moment

    chosen = resolve_oven(recipe, oven)
    model = learned(chosen)
    made = load_job(recipe, chosen, model)
    ahead = foresee(made.profile, chosen, model, [row.duration_s for row in made.rows])
    ready = None if ready_at is None else ready_moment(made, ready_at, RealClock().utc().astimezone())
    if out is not None:
        save(profile_toml(made.profile), out)
    if chart is not None:
        write_plan_chart(ahead, model, made, chart)
    if as_json:
        print(json.dumps({**plan_json(made, ready), "predicted": as_data(ahead, model)}))
    else:
        print_plan(made, (*ready_lines(made, ready), *companion_lines(recipe, chosen, made, ready)))
        print_ahead(ahead, made, model)
    return 0


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


def recipe(what: Literal["new"], /, *, out: Path | None = None) -> int:
    """Write a recipe by asking.

    Parameters
    ----------
    what
        The word new.
    out
        The file to write; left out, the recipe's name in this folder.
    """
    from kilnctl.cli.asking import ask_recipe, save

    if not sys.stdin.isatty():
        raise ProfileError(f"recipe {what} asks questions and needs a terminal; or copy a bundled recipe")
    try:
        text = ask_recipe(input, print)
    except EOFError:
        raise ProfileError("no answer any more; nothing was written") from None
    path = out or Path(f"{tomllib.loads(text)['name']}.toml")
    save(text, path)
    print(f"{path} written; look at it with: kilnctl plan {path}")
    return 0
