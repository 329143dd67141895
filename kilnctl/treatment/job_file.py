"""A job: a recipe or a profile file, or the name of a bundled one, told apart by what is in it."""

import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from kilnctl.config.home import bundled, find
from kilnctl.config.oven import Oven
from kilnctl.errors import ProfileError
from kilnctl.model.oven_model import OvenModel
from kilnctl.profile.segments import load_profile
from kilnctl.treatment.own_oven import on_own_oven
from kilnctl.treatment.planning import Plan, plan, plan_profile, soak_job
from kilnctl.treatment.recipe.recipes import Recipe, load_recipe
from kilnctl.treatment.steel.own_results import OwnFit
from kilnctl.treatment.steel.steels import Steel, load_steel

__all__ = ["find_job", "is_profile", "load_job", "oven_of", "soak_job"]


def find_job(name: str) -> Path:
    """Return the file of a job. Raises ProfileError, offering the nearest names."""
    return find(name, "recipes", ProfileError)


def is_profile(path: Path) -> bool:
    """True for a profile (it has segments), False for a recipe. Raises ProfileError where it is neither."""
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError):
        raise ProfileError(f"{path}: cannot be read as text") from None
    except (ValueError, RecursionError):
        load_profile(path)  # says what is wrong with it
        raise
    if not data:
        raise ProfileError(f"{path.name}: the file is empty")
    if "segment" not in data and "treatment" not in data:
        raise ProfileError(f"{path.name}: neither a recipe ([[treatment]]) nor a profile ([[segment]])")
    return "segment" in data


def oven_of(path: Path) -> str | None:
    """Return the oven that a job names, or None. Raises ProfileError as the file is read."""
    if is_profile(path):
        return load_profile(path).oven
    return recipe_oven(load_recipe(path))


def recipe_oven(recipe: Recipe) -> str | None:
    """Return the oven of a recipe's first treatment, or None."""
    return recipe.treatment[0].oven or recipe.oven


def load_job(
    name_or_path: str | Path,
    oven: Oven,
    model: OvenModel | None = None,
    own: Callable[[Steel], OwnFit | None] = lambda _: None,
) -> Plan:
    """Return the checked plan of a job for one oven; a bundled recipe is done on whatever oven is named.

    `own` returns what the shop measured of a grade.
    Raises ProfileError (file, line and key, or what the steel forbids) or RunRefused (this oven may not).
    """
    path = find_job(str(name_or_path))
    if is_profile(path):
        profile = load_profile(path)
        steel = load_steel(profile.steel) if profile.steel else None
        return plan_profile(profile, steel, oven, model)
    recipe, moved = load_recipe(path), tuple[str, ...]()
    if path.parent == bundled("recipes"):
        recipe, moved = on_own_oven(recipe, oven)
    steel = load_steel(recipe.steel) if recipe.steel else None
    made = plan(recipe, steel, oven, model, own(steel) if steel is not None else None)
    return replace(made, warnings=(*moved, *made.warnings))
