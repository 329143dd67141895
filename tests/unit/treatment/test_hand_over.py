"""A recipe in two ovens: is the person led from one to the other, with command, time and longest wait?"""

from pathlib import Path

from kilnctl.config.oven import load_oven
from kilnctl.profile.segments import Operator
from kilnctl.treatment.planning import plan
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.steel.steels import load_steel

FURNACE, SMALL = (
    load_oven(Path(f"profiles/ovens/{name}.toml")) for name in ("hardening-furnace", "tempering-oven")
)
STEEL = load_steel("O1")


def recipe(*treatment):
    """A recipe of an invented gouge."""
    return Recipe.model_validate(
        {
            "name": "gouge (invented)",
            "steel": "O1",
            "oven": "hardening-furnace",
            "section": "4 mm",
            "treatment": treatment,
        }
    )


HARDEN = {"do": "harden"}
TEMPER = {"do": "temper", "at": "205 C", "count": 1, "oven": "tempering-oven"}


def test_the_last_step_of_the_furnace_leads_to_the_oven_with_its_command_and_the_hour():
    last = plan(recipe(HARDEN, TEMPER), STEEL, FURNACE).profile.segments[-1]
    assert isinstance(last, Operator)
    assert last.label == "hand over to tempering-oven"
    assert "`kilnctl run gouge (invented) --oven tempering-oven`" in last.say
    assert last.at_most_s == 3600.0  # common practice: temper within the hour
    assert "crack" in last.say


def test_a_hot_waiting_oven_is_started_beforehand_and_the_plan_says_how_long_before():
    made = plan(recipe(HARDEN, {**TEMPER, "load": "hot"}), STEEL, FURNACE)
    (said,) = (w for w in made.warnings if w.startswith("start tempering-oven"))
    assert "40 min before" in said  # 185 K at 400 °C/h and ten minutes to settle, to the next five
    assert "--unattended" in said


def test_the_second_oven_says_where_the_part_comes_from():
    made = plan(recipe(HARDEN, TEMPER), STEEL, SMALL)
    assert any("comes from hardening-furnace (harden), 1 h" in w for w in made.warnings)


def test_a_part_that_is_soft_has_time_and_is_cooled_before_it_is_handled():
    relief = {"do": "stress relief", "oven": "hardening-furnace"}
    made = plan(recipe(relief, {**TEMPER, "undoes_hardness": "none yet"}), STEEL, FURNACE)
    last = made.profile.segments[-1]
    assert isinstance(last, Operator)
    assert last.step == "unload"
    assert last.at_most_s > 3600.0
    assert made.profile.segments[-2].to_c <= 46.0


def test_one_oven_needs_no_hand_over():
    made = plan(recipe(HARDEN, {**TEMPER, "oven": "hardening-furnace", "shield": "box"}), STEEL, FURNACE)
    assert not any(s.label.startswith("hand over") for s in made.profile.segments)
