"""What the cards do not say is not read out of them: thin tables, thick sections, heats far above all.

Makers' measured values for AEB-L (190 °C twice: 61 HRC; 205 °C twice: 60 HRC) against the two end points of
the strip ladder (175 °C: 63, 350 °C: 53). 1-inch bars of 1080 and 1095 do not harden through in oil (handbook
note). Equilibrium: all carbide of 1075, 15N20 and 80CrV2 is dissolved above 731.5, 741.3 and 787.0 °C.
"""

import pytest

from kilnctl.config.home import known
from kilnctl.errors import ProfileError, RunRefused
from kilnctl.treatment.steel.formulas import after_quench
from kilnctl.treatment.steel.hardness import table_hrc
from kilnctl.treatment.steel.steels import load_steel
from tests.trade_plans import FURNACE, OVEN, planned

HOTTER = FURNACE.model_copy(update={"limit_c": 1300.0})
TEMPER = {"do": "temper", "at": "205 C", "oven": "tempering-oven"}


@pytest.mark.parametrize(("at_c", "measured"), [(190.0, 61.0), (205.0, 60.0)])
@pytest.mark.parametrize("grade", ["AEB-L", "14C28N"])
def test_between_rows_that_are_far_apart_the_ladder_is_a_range(
    grade: str, at_c: float, measured: float
) -> None:
    ladder = next(t for t in load_steel(grade).temper_table if t.row[-1].at_c > 300.0)
    span = table_hrc(ladder, at_c)
    assert span is not None
    assert span[0] <= measured <= span[1]
    assert span[1] - span[0] >= 2.0


def test_a_goal_read_between_far_rows_says_so() -> None:
    made = planned("14C28N", {"do": "temper", "oven": "hardening-furnace"}, goal_hrc=(57, 59), oven=FURNACE)
    assert any("far apart" in row.why for row in made.rows)


@pytest.mark.parametrize(("grade", "section"), [("1075", "25 mm"), ("O1", "80 mm"), ("80CrV2", "60 mm")])
def test_a_section_that_no_source_hardens_through_is_warned_of(grade: str, section: str) -> None:
    medium = "fast oil" if grade == "1075" else "medium oil"
    harden = {"do": "harden", "oven": "hardening-furnace", "medium": medium}
    made = planned(grade, harden, TEMPER, section=section, oven=FURNACE)
    assert any("harden through" in w or "hardens through" in w for w in made.warnings)


@pytest.mark.parametrize(
    ("grade", "at", "says"),
    [("O1", "950 C", "above"), ("1084", "960 C", "above"), ("5160", "1000 C", "above")],
)
def test_a_heat_far_above_every_window_is_refused(grade: str, at: str, says: str) -> None:
    with pytest.raises(ProfileError, match=says):
        planned(grade, {"do": "harden", "at": at}, oven=FURNACE)


def test_a_heat_far_above_offers_the_other_unit() -> None:
    with pytest.raises(ProfileError, match=r"did you mean 1200 °F"):
        planned("1084", {"do": "stress relief", "at": "1200 C"}, oven=HOTTER)


@pytest.mark.parametrize(
    ("grade", "at_c", "carbon"), [("1075", 800.0, 0.75), ("15N20", 815.0, 0.75), ("80CrV2", 830.0, 0.80)]
)
def test_where_everything_dissolves_the_quench_is_told(grade: str, at_c: float, carbon: float) -> None:
    found = after_quench(load_steel(grade), at_c)
    assert found is not None
    assert found.carbon == pytest.approx(carbon, abs=0.06)
    assert 180.0 < found.ms_c < 250.0


@pytest.mark.parametrize("grade", ["A2", "D2"])
def test_secondary_hardening_is_told(grade: str) -> None:
    assert any("secondary" in c.say for c in load_steel(grade).caution)


def test_a_cooling_rate_in_the_wrong_unit_is_asked_about() -> None:
    anneal = {"do": "anneal", "type": "full", "at": "815 C", "cool_rate": "50 C/h"}
    made = planned("1084", anneal, oven=FURNACE)
    assert any("did you mean 50 °F/h (28 °C/h)?" in w for w in made.warnings)


def test_profile_files_carry_the_hardness_of_every_step() -> None:
    from kilnctl.treatment.planning import plan_profile

    recipe = planned("O1", {"do": "temper", "at": "205 C"}, oven=OVEN)
    made = plan_profile(recipe.profile, load_steel("O1"), OVEN)
    assert made.rows[1].after == recipe.rows[1].after
    assert made.rows[1].after_hrc is not None


def test_a_soak_far_longer_than_every_source_is_warned_of() -> None:
    """1095: ten minutes on its card (bladesmith data pages); three hours dissolve all its carbide."""
    harden = {"do": "harden", "oven": "hardening-furnace", "medium": "fast oil"}
    long = planned("1095", {**harden, "time": "3h"}, TEMPER, oven=FURNACE)
    assert any("longer than every source" in w for w in long.warnings)
    twice = planned("1095", {**harden, "time": "20 min"}, TEMPER, oven=FURNACE)
    assert any("longer than every source" in w for w in twice.warnings)
    usual = planned("1095", {**harden, "time": "15 min"}, TEMPER, oven=FURNACE)
    assert not any("longer than every source" in w for w in usual.warnings)


def test_a_temper_far_shorter_than_the_card_is_warned_of() -> None:
    short = planned("O1", {**TEMPER, "time": "5 min", "count": 1}, oven=OVEN)
    assert any("shorter than" in w for w in short.warnings)
    usual = planned("O1", {**TEMPER, "time": "1h", "count": 2}, oven=OVEN)
    assert not any("shorter than" in w for w in usual.warnings)


def test_no_named_part_is_left_out_of_the_quench() -> None:
    two = ({"name": "a", "section": "3 mm"}, {"name": "b", "section": "3 mm"})
    with pytest.raises(ValueError, match="each of the parts"):
        planned("O1", {"do": "harden", "blades": 1}, section=None, parts=two, oven=FURNACE)


def test_a_soak_of_many_hours_is_warned_of_where_the_card_counts_by_the_inch_too() -> None:
    """52100: 15-40 min and 30 min per further inch (ASM International 2019)."""
    harden = {"do": "harden", "oven": "hardening-furnace", "medium": "medium oil"}
    long = planned("52100", {**harden, "time": "3h"}, TEMPER, oven=FURNACE)
    assert any("longer than every source" in w for w in long.warnings)


def test_a_thick_die_of_d2_may_soak_an_hour_an_inch() -> None:
    """D2 sheet of a second mill: one hour per inch of the greatest section."""
    harden = {"do": "harden", "protection": "foil", "time": "2h"}
    thick = planned("D2", harden, TEMPER, section="50 mm", oven=FURNACE)
    assert not any("longer than every source" in w for w in thick.warnings)
    thin = planned("D2", {**harden, "time": "3h"}, TEMPER, section="3 mm", oven=FURNACE)
    assert any("longer than every source" in w for w in thin.warnings)


def test_a_stainless_temper_above_350_c_is_warned_of() -> None:
    """Mill text for stainless knife strip: 175 to 350 °C; the 13C26 sheet says brittle above 450 °C."""
    harden = {"do": "harden", "oven": "hardening-furnace", "medium": "plates"}
    hot = {"do": "temper", "at": "400 C", "oven": "hardening-furnace"}
    made = planned("AEB-L", harden, hot, oven=FURNACE)
    assert any("360-450" in w for w in made.warnings)


def test_every_cold_treatment_says_that_a_temper_must_follow() -> None:
    """Sheets for O1, A2 and 440C place it before a temper: fresh martensite is brittle."""
    grades = sorted(known("steels"))
    cold = {grade: load_steel(grade).cold for grade in grades}
    assert {
        g for g, found in cold.items() if found and not any("must follow" in c.note for c in found)
    } == set()


@pytest.mark.parametrize("grade", ["80CrV2", "8670", "15N20"])
def test_a_card_without_a_sheet_for_its_heats_says_so(grade: str) -> None:
    assert any("No standard or mill sheet" in c.say for c in load_steel(grade).caution)


def test_no_steel_is_said_to_be_meant_for_a_heat_at_which_none_hardens() -> None:
    """1095 °C is 5 K over the furnace's margin; 1095 °F (591 °C) is no hardening heat of any steel."""
    harden = {"do": "harden", "at": "1095 C", "protection": "foil"}
    with pytest.raises(RunRefused, match=r"1090 °C \(1994 °F\) at most") as refused:
        planned("AEB-L", harden, oven=FURNACE)
    assert "meant" not in str(refused.value)


@pytest.mark.parametrize(("oil_kg", "warned"), [("4 kg", True), ("15 kg", False)])
def test_a_plan_says_when_its_oil_leaves_the_band_far_from_the_fire(oil_kg: str, warned: bool) -> None:
    """Most quench oils are made for 40 to 80 °C (common practice, no single source)."""
    oil = {"mass": oil_kg, "start": "50 C", "flash": "200 C"}
    notes = planned("O1", {"do": "harden", "mass": "0.3 kg", "blades": 3, "oil": oil}, oven=FURNACE).notes
    (said,) = [note for note in notes if note.startswith("oil after each part")]
    assert ("after part 2 the oil is above 80 °C" in said) is warned
