"""The trade's commands: steel, recipe new, plan."""

import dataclasses
import json
import sys
from pathlib import Path
from typing import Annotated, Any, Literal

from cyclopts import Parameter

from kilnctl.config.home import find, known
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ConfigError, ProfileError
from kilnctl.treatment.job import find_job, load_job, oven_of
from kilnctl.treatment.planning import Plan

AsJson = Annotated[bool, Parameter(name="--json", negative="")]


def steel(grade: str | None = None, /, *, as_json: AsJson = False) -> int:
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
    as_json: AsJson = False,
) -> int:
    """Show what a recipe becomes: every step with its temperature, rate, time, reason and source.

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
    as_json
        Print the whole plan as one JSON object.
    """
    from kilnctl.cli.plan_page import print_plan

    made = load_job(recipe, resolve_oven(recipe, oven))
    if out is not None:
        write_profile(made, out)
    if as_json:
        print(json.dumps(plan_json(made)))
    else:
        print_plan(made)
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
    return load_oven(find(name, "ovens", ConfigError))


def write_profile(made: Plan, out: Path) -> None:
    """Write a plan's profile to a file. Raises ProfileError where that is not possible or a file is there."""
    from kilnctl.profile.write import profile_toml

    try:
        with out.open("x", encoding="utf-8") as file:
            file.write(profile_toml(made.profile))
    except FileExistsError:
        raise ProfileError(f"{out}: is there already; choose another name") from None
    except OSError as e:
        raise ProfileError(f"{out}: cannot be written: {e.strerror}") from None


def plan_json(made: Plan) -> dict[str, Any]:
    """Return a plan as plain data."""
    return {
        "oven": made.oven,
        "steel": made.steel.grade if made.steel else None,
        "profile": made.profile.model_dump(mode="json"),
        "rows": [dataclasses.asdict(row) for row in made.rows],
        "warnings": list(made.warnings),
        "elsewhere": list(made.elsewhere),
        "total_s": made.total_s,
        "energy_kwh": made.energy_kwh,
        "learned": made.learned,
    }


def recipe(what: Literal["new"], /) -> int:
    """Write a recipe by asking."""
    if not sys.stdin.isatty():
        raise ProfileError("recipe new asks questions and needs a terminal; or write the file by hand")
    raise ProfileError("recipe new is not here yet; copy a bundled recipe and change it")
