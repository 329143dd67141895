"""Plans of invented recipes on the two ovens that ship: shared by the checks of the trade."""

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.treatment.planning import Plan, plan
from kilnctl.treatment.recipes import Recipe
from kilnctl.treatment.steel.steels import load_steel

FURNACE = load_oven(bundled("ovens") / "hardening-furnace.toml")
OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")


def planned(steel: str, *treatments: dict[str, object], oven: Oven = FURNACE, **keys: object) -> Plan:
    """Return the plan of a 4 mm part with these treatments."""
    data: dict[str, object] = {"name": "r", "steel": steel, "section": "4 mm", "treatment": treatments}
    return plan(Recipe.model_validate(data | keys), load_steel(steel), oven)
