"""Plans of invented recipes on the two ovens that ship: shared by the checks of the trade."""

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.profile.segments import Profile
from kilnctl.treatment.chain import Chain, chain, profile_of
from kilnctl.treatment.planning import Plan, plan
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.segments.segment_builders import PlanFor
from kilnctl.treatment.sequence_rules import check_order
from kilnctl.treatment.steel.steels import load_steel

FURNACE = load_oven(bundled("ovens") / "hardening-furnace.toml")
OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
_PLANNED: dict[str, Plan] = {}


def recipe_of(steel: str, *treatments: dict[str, object], **keys: object) -> Recipe:
    """Return the recipe of a 4 mm part with these treatments."""
    data: dict[str, object] = {"name": "r", "steel": steel, "section": "4 mm", "treatment": treatments}
    return Recipe.model_validate(data | keys)


def planned(steel: str, *treatments: dict[str, object], oven: Oven = FURNACE, **keys: object) -> Plan:
    """Return the plan of a 4 mm part with these treatments; made once, however often it is asked for."""
    key = repr((steel, treatments, oven, sorted(keys.items())))
    if key not in _PLANNED or "coupons" in keys:  # what lies in the home may have changed
        _PLANNED[key] = plan(recipe_of(steel, *treatments, **keys), load_steel(steel), oven)
    return _PLANNED[key]


def bench(steel: str, *treatments: dict[str, object], **keys: object) -> PlanFor:
    """Return what a part of 4 mm is planned for in the furnace."""
    return PlanFor(recipe_of(steel, *treatments, **keys), load_steel(steel), FURNACE)


def chained(steel: str, *treatments: dict[str, object], **keys: object) -> Chain:
    """Return the chain of these treatments, its order checked, without any forecast: that is cheap."""
    asked = bench(steel, *treatments, **keys)
    check_order(asked.recipe, asked.steel)
    return chain(asked)


def profiled(asked: PlanFor) -> Profile:
    """Return the segments of a chain as a profile, without any forecast."""
    return profile_of(asked.recipe, asked.oven, chain(asked).segments)
