"""Whatever a recipe says: a checked plan, or one clear refusal, and nothing else."""

import math
from typing import Any

import tomlkit
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from kilnctl.config.home import bundled
from kilnctl.config.oven import LIMIT_MARGIN_K, load_oven
from kilnctl.errors import ProfileError, RunRefused
from kilnctl.profile.segments import Profile
from kilnctl.profile.write import profile_toml
from kilnctl.tomlfile import loads
from kilnctl.treatment.planning import plan
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.steel.steels import load_steel

OVENS = [load_oven(path) for path in sorted(bundled("ovens").glob("*.toml"))]
GRADES = sorted(path.stem for path in bundled("steels").glob("*.toml"))


def mostly(good: list[str], bad: list[str]) -> st.SearchStrategy[str]:
    """Return values of which about one in twenty-five is a mistake."""
    return st.integers(0, 24).flatmap(lambda n: st.sampled_from(bad if n == 24 else good))


hot = mostly(
    ["650 C", "700 C", "718 C", "1526 F", "830 C", "870 C", "1060 C"], ["-300 C", "1600 C", "218", ""]
)
warm = mostly(["150 C", "425 F", "218 C", "230 C", "100 F", "300 C"], ["5e3 C", "218", "830 C"])
cold = mostly(["-20 C", "-84 C", "0 C"], ["-300 C", "4"])
span = mostly(["1 s", "10 min", "2h", "10h"], ["0 s", "90h", "2:00", "-1h"])
speed = mostly(["11 C/h", "28 C/h", "400 C/h", "3 C/min"], ["9000 C/h", "0 C/h", "400"])
DOINGS: dict[str, dict[str, st.SearchStrategy[Any]]] = {
    "stress relief": {"at": hot, "time": span, "cool_rate": speed, "rate": speed},
    "normalise": {
        "at": st.lists(hot, max_size=3),
        "time": span,
        "wait": span,
        "alone": st.booleans(),
    },
    "anneal": {
        "type": st.sampled_from(["full", "spheroidise", "subcritical"]),
        "at": hot,
        "time": span,
        "cool_rate": speed,
        "down_to": hot,
    },
    "harden": {
        "at": hot,
        "time": span,
        "preheat": st.booleans(),
        "load": st.sampled_from(["hot", "cold"]),
        "blades": st.integers(1, 12),
        "in_oil": span,
        "protection": st.sampled_from(["none", "foil"]),
    },
    "temper": {
        "at": warm,
        "time": span,
        "count": st.integers(1, 4),
        "gate": mostly(["45 C", "60 C"], ["15 C"]),
    },
    "snap temper": {"at": warm, "time": span},
    "cold treatment": {"at": cold, "time": span, "wait": span},
    "hold": {"at": hot, "at_most": span},
    "first firing": {
        "step": st.lists(st.fixed_dictionaries({"to": hot, "rate": speed, "time": span}), max_size=2)
    },
}


@st.composite
def treatment(draw: st.DrawFn) -> dict[str, Any]:
    do = draw(st.sampled_from(sorted(DOINGS)))
    given_keys = draw(st.sets(st.sampled_from(sorted(DOINGS[do])))) | (
        {"step"} if do == "first firing" else set()
    )
    return {"do": do} | {key: draw(DOINGS[do][key]) for key in sorted(given_keys)}


@st.composite
def recipe_text(draw: st.DrawFn) -> str:
    data: dict[str, Any] = {"name": "any", "steel": draw(st.sampled_from(GRADES))}
    data["section"] = draw(mostly(["0.5 mm", "4 mm", "30 mm"], ["0 mm", "6 in"]))
    data["surface"] = draw(st.sampled_from(["bare", "bright", "coated", "foil"]))
    data["faces"] = draw(st.sampled_from(["both", "one"]))
    if draw(st.booleans()):
        data["goal_hrc"] = draw(st.sampled_from([[60, 62], [58, 61], [68, 70]]))
    data["treatment"] = draw(st.lists(treatment(), max_size=3))
    return tomlkit.dumps(data)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(text=recipe_text(), oven=st.sampled_from(OVENS))
def test_a_plan_or_one_clear_refusal(text: str, oven: Any) -> None:
    try:
        recipe = loads(text, Recipe, ProfileError, "any.toml")
        made = plan(recipe, load_steel(recipe.steel or ""), oven)
    except (ProfileError, RunRefused):
        event("refused")
        return
    event("planned")
    assert math.isfinite(made.total_s)
    assert made.energy_kwh >= 0
    assert made.profile.peak_c <= oven.limit_c - LIMIT_MARGIN_K
    assert loads(profile_toml(made.profile), Profile, ProfileError, "written") == made.profile
