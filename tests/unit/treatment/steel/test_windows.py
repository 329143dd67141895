"""Windows with teeth: below every source refused, between sources both named, slips of the unit offered."""

import pytest
from trade_plans import FURNACE, OVEN, planned

from kilnctl.config.home import known
from kilnctl.errors import ProfileError, RunRefused
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.steel.steels import load_steel
from kilnctl.treatment.steel.temper.temper_choice import temper_choice

GRADES = sorted(known("steels"))


@pytest.mark.parametrize("grade", GRADES)
def test_below_every_source_is_refused(grade: str) -> None:
    steel = load_steel(grade)
    lowest_c = min(band.low_c for band in steel.austenitise)
    medium = steel.quench[0].medium
    with pytest.raises(ProfileError, match="below"):
        planned(grade, {"do": "harden", "at": f"{lowest_c - 25:.0f} C", "medium": medium, "preheat": False})
    with pytest.raises(ProfileError, match=r"below|too cold"):
        planned(grade, {"do": "temper", "at": "80 C"})


@pytest.mark.parametrize("grade", GRADES)
def test_there_is_a_ceiling_on_every_card(grade: str) -> None:
    """Hot: said with a source. Temper and stress relief: an end, above which nothing is planned."""
    steel = load_steel(grade)
    assert steel.too_hot
    top_c = max(band.high_c for band in steel.austenitise)
    said = planned(
        grade,
        {"do": "harden", "at": f"{top_c + 12:.0f} C", "medium": steel.quench[0].medium},
        {"do": "temper", "at": "200 C", "oven": "x"},
        oven=FURNACE.model_copy(update={"limit_c": 1300.0, "power_w": 9000.0}),
    ).warnings
    assert any("above" in text and "(" in text for text in said)
    for hot in (
        {"do": "temper", "at": "850 C"},
        {"do": "stress relief", "at": "900 C"},
        {"do": "temper", "at": "720 C"},
    ):
        with pytest.raises(ProfileError):
            planned(grade, hot)


@pytest.mark.parametrize(
    ("steel", "treatment", "offer"),
    [
        ("1084", {"do": "harden", "at": "815 F"}, "did you mean 815 °C?"),
        ("5160", {"do": "harden", "at": "1525 F"}, None),
        ("1084", {"do": "temper", "at": "218 F"}, "did you mean 218 °C?"),
        ("O1", {"do": "temper", "at": "425 C"}, None),
        ("1084", {"do": "normalise", "at": ("870 F",)}, "did you mean 870 °C?"),
    ],
)
def test_a_slip_of_the_unit_is_offered(steel: str, treatment: dict[str, object], offer: str | None) -> None:
    if offer is None:
        planned(steel, treatment)
        return
    with pytest.raises(ProfileError) as refused:
        planned(steel, treatment)
    assert offer in str(refused.value)


def test_fahrenheit_typed_as_celsius() -> None:
    with pytest.raises(RunRefused, match=r"did you mean 425 °F \(218 °C\)"):
        planned("O1", {"do": "temper", "at": "425 C"}, oven=OVEN)
    with pytest.raises(ValueError, match=r"did you mean 1500 F \(816 C\)"):
        Recipe.model_validate(
            {"name": "r", "steel": "O1", "section": "4 mm", "treatment": ({"do": "harden", "at": "1500 C"},)}
        )


def test_a_rate_in_fahrenheit_is_offered() -> None:
    """1095: 28 degC/h (50 degF/h) at most; "50 C/h" is the page's other unit."""
    said = planned("1095", {"do": "anneal", "type": "full", "cool_rate": "50 C/h"}).warnings
    assert any("28 °C/h" in text and "did you mean 50 °F/h" in text for text in said)


def test_sources_that_disagree_are_both_named() -> None:
    said = planned(
        "1075", {"do": "harden", "at": "805 C"}, {"do": "temper", "oven": "x", "at": "200 C"}
    ).warnings
    both = next(text for text in said if "outside" in text)
    assert "780-820" in both
    assert "815-845" in both


@pytest.mark.parametrize("grade", GRADES)
def test_a_chosen_temper_keeps_out_of_the_avoid_band(grade: str) -> None:
    """While any table of the card has a row range, outside the band, that reaches the goal."""
    steel = load_steel(grade)
    bands = [(band.low_c, band.high_c) for band in steel.spoils]
    rows = [(row.at_c, row.hrc) for table in steel.temper_table for row in table.row]
    for goal in range(50, 65):
        try:
            chosen = temper_choice(steel, (float(goal), float(goal)))
        except ProfileError:
            continue
        spoiled = any(low <= chosen.at_c <= high for low, high in bands)
        free = [t for t, hrc in rows if hrc[0] <= goal <= hrc[1] and not any(a <= t <= b for a, b in bands)]
        assert not (spoiled and free), f"{goal} HRC: {chosen.at_c} chosen, {free} are free"


@pytest.mark.parametrize(
    ("grade", "goal"),
    [("O1", (60, 60)), ("52100", (58, 60)), ("5160", (55, 58)), ("1095", (61, 63)), ("O1", (60, 62))],
)
def test_goals_of_the_bench(grade: str, goal: tuple[int, int]) -> None:
    chosen = temper_choice(load_steel(grade), goal)
    assert chosen.at_c < 230.0
    assert chosen.high_c < 230.0


def test_an_oven_that_cannot_names_the_one_that_can() -> None:
    with pytest.raises(RunRefused, match="hardening-furnace"):
        planned("D2", {"do": "temper"}, oven=OVEN, goal_hrc=(57, 57))
    with pytest.raises(RunRefused, match="hardening-furnace"):
        planned("O1", {"do": "temper", "at": "300 C"}, oven=OVEN)


def test_one_number_is_a_goal() -> None:
    made = planned("O1", {"do": "temper"}, oven=OVEN, goal_hrc=60)
    assert made.profile.goal_hrc == (60.0, 60.0)
    assert made.profile.peak_c < 230.0
    assert "for 60 HRC" in made.rows[1].why
    with pytest.raises(ValueError, match="or one number"):
        planned("O1", {"do": "temper"}, oven=OVEN, goal_hrc=90)


def test_a_small_oven_still_finds_its_temper() -> None:
    """O1 at 59: the table's middle is 260 degC, its range holds 59 from 250: inside this oven's reach."""
    made = planned("O1", {"do": "temper"}, oven=OVEN, goal_hrc=(59, 60))
    assert made.profile.peak_c <= 250.0


@pytest.mark.parametrize(
    ("grade", "heat"), [("1084", "1500 F"), ("O1", "1450 F"), ("A2", "1800 F"), ("D2", "1850 F")]
)
def test_a_sheets_own_limit_in_fahrenheit_is_inside(grade: str, heat: str) -> None:
    """Limits as their sheets print them: O1 1450-1500 °F, A2 1750-1800, D2 1850-1875, 1084 1475-1500."""
    said = planned(grade, {"do": "harden", "at": heat, "protection": "foil"}, surface="foil").warnings
    assert not [text for text in said if "range on the card" in text or text.startswith("above ")]
