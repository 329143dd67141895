"""The chains of the trade as segments."""

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ProfileError, RunRefused
from kilnctl.profile.segments import Cool, Operator, Profile, Ramp, Soak
from kilnctl.treatment.consequence import predicted_hrc
from kilnctl.treatment.planning import Plan, plan
from kilnctl.treatment.recipe.recipes import Recipe
from kilnctl.treatment.sequence_rules import check_order
from kilnctl.treatment.steel.steels import load_steel

FURNACE = load_oven(bundled("ovens") / "hardening-furnace.toml")
ELSEWHERE = {"do": "temper", "oven": "x", "at": "200 C"}
OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")


def recipe(steel: str | None, *treatments: dict[str, object], **keys: object) -> Recipe:
    data: dict[str, object] = {"name": "r", "section": "4 mm", "treatment": treatments}
    return Recipe.model_validate(data | ({"steel": steel} if steel else {}) | keys)


def planned(steel: str | None, *treatments: dict[str, object], oven: Oven = FURNACE, **keys: object) -> Plan:
    return plan(recipe(steel, *treatments, **keys), load_steel(steel) if steel else None, oven)


def shape(profile: Profile) -> list[str]:
    return [s.step if isinstance(s, Operator) else s.kind for s in profile.segments]


def test_full_anneal_cools_at_the_cards_rate() -> None:
    made = planned("1095", {"do": "anneal", "type": "full"})
    slow = next(s for s in made.profile.segments if isinstance(s, Cool))
    assert (slow.to_c, slow.rate_c_per_h) == (650.0, 28.0)


def test_lamellar_anneal_without_a_rate_takes_the_usual_one() -> None:
    made = planned("1075", {"do": "anneal", "type": "full"})
    slow = next(s for s in made.profile.segments if isinstance(s, Cool))
    assert (slow.to_c, slow.rate_c_per_h, slow.source) == (600.0, 28.0, "common practice")


def test_spheroidise_drops_fast_then_slowly() -> None:
    made = planned("5160", {"do": "anneal", "type": "spheroidise"})
    kinds = [(s.to_c, s.rate_c_per_h) for s in made.profile.segments if isinstance(s, Cool)]
    assert kinds == [(705.0, None), (650.0, 6.0), (300.0, None)]


def test_preheats_come_by_themselves_for_high_alloy_steel() -> None:
    made = planned(
        "A2",
        {"do": "harden", "protection": "foil"},
        ELSEWHERE,
        surface="foil",
    )
    heats = [s.at_c for s in made.profile.segments if isinstance(s, Soak)]
    assert heats == [635.0, 780.0, 970.0]
    assert not any("foil or coating:" in text or "preheat" in text for text in made.warnings)


def test_high_alloy_without_protection_or_preheat_is_warned_of() -> None:
    said = planned("A2", {"do": "harden", "preheat": False}, ELSEWHERE).warnings
    assert any("without foil or coating" in text for text in said)
    assert any("without a preheat" in text for text in said)


def test_preheat_without_a_card_for_it() -> None:
    with pytest.raises(ProfileError, match="no preheat"):
        planned("1084", {"do": "harden", "preheat": True})


def test_blades_from_one_soak_each_get_their_quench_after_recovery() -> None:
    made = planned("1084", {"do": "harden", "blades": 3}, ELSEWHERE)
    assert shape(made.profile) == [
        "ramp", "soak", "quench", "clamp", "soak", "quench", "clamp", "soak", "quench", "clamp", "check",
        "confirm",  # and on to the other oven
    ]  # fmt: skip
    recover = made.profile.segments[4]
    assert isinstance(recover, Soak)
    assert recover.clock == "oven"
    assert all(s.hold_c == recover.at_c for s in made.profile.segments if getattr(s, "step", "") == "quench")


def test_hot_load_waits_for_a_settled_oven() -> None:
    made = planned("1084", {"do": "harden", "load": "hot"}, ELSEWHERE)
    assert shape(made.profile)[:4] == ["ramp", "soak", "load", "soak"]
    clocks = [s.clock for s in made.profile.segments if isinstance(s, Soak)]
    assert clocks == ["oven", "part"]


def test_clamp_and_check_have_no_heat() -> None:
    made = planned("1084", {"do": "harden"}, ELSEWHERE)
    assert [s.hold_c for s in made.profile.segments if isinstance(s, Operator)][1:] == [None, None, None]


def test_cold_treatment_is_a_persons_step_with_the_heat_off() -> None:
    made = planned("A2", {"do": "cold treatment"}, {"do": "temper", "at": "205 C"}, oven=OVEN, surface="foil")
    assert shape(made.profile)[:3] == ["cold", "load", "ramp"]
    first = made.profile.segments[0]
    assert isinstance(first, Operator)
    assert first.hold_c is None
    assert "-84 °C for 60 min" in first.say


def test_cold_treatment_needs_a_card_or_a_temperature() -> None:
    with pytest.raises(ProfileError, match="no cold treatment"):
        planned("5160", {"do": "cold treatment"}, oven=OVEN)


def test_parts_outside_are_put_back_before_the_next_treatment() -> None:
    made = planned("5160", {"do": "normalise", "at": ("870 C",)}, {"do": "stress relief"})
    assert shape(made.profile) == ["ramp", "soak", "air cool", "cool", "load", "ramp", "soak", "cool"]


def test_open_ended_hold_has_a_longest_time_and_needs_no_steel() -> None:
    made = planned(None, {"do": "hold", "at": "600 C", "at_most": "4h"})
    last = made.profile.segments[-1]
    assert isinstance(last, Operator)
    assert (last.hold_c, last.at_most_s) == (600.0, 4 * 3600.0)


def test_first_firing_is_asked_for_and_follows_its_steps() -> None:
    step = {"to": "110 C", "rate": "50 C/h", "time": "3h"}
    made = planned(None, {"do": "first firing", "step": (step,)})
    assert shape(made.profile) == ["confirm", "ramp", "soak", "cool"]
    ramp = made.profile.segments[1]
    assert isinstance(ramp, Ramp)
    assert ramp.rate_c_per_h == 50.0


def test_normalise_without_temperatures_falls_from_the_cards() -> None:
    made = planned("5160", {"do": "normalise"})
    assert [s.at_c for s in made.profile.segments if isinstance(s, Soak)] == [870.0, 840.0, 810.0]


def test_normalise_alone_is_called_an_anneal_before_the_heat() -> None:
    made = planned("1095", {"do": "normalise", "alone": True})
    assert {s.purpose for s in made.profile.segments} == {"anneal"}
    said = " ".join(made.warnings)
    assert "furnace cooled, not normalised" in said
    assert "network" in said


@pytest.mark.parametrize("grade", ["A2", "D2", "440C", "AEB-L", "14C28N"])
def test_grades_that_must_not_be_normalised(grade: str) -> None:
    with pytest.raises(ProfileError, match="must not be normalised"):
        planned(grade, {"do": "normalise"})


def test_temper_before_the_quench_is_refused() -> None:
    with pytest.raises(ProfileError, match="temper stands before the quench"):
        check_order(recipe("O1", {"do": "temper", "at": "218 C"}, {"do": "harden"}), load_steel("O1"))


@pytest.mark.parametrize(
    ("treatments", "says"),
    [
        (({"do": "normalise", "at": ("810 C", "870 C")},), "normalise steps rise"),
        (({"do": "temper", "at": "218 C"}, {"do": "cold treatment"}), "after the last temper"),
        (({"do": "harden"},), "no temper follows the quench"),
    ],
)
def test_order_warnings(treatments: tuple[dict[str, object], ...], says: str) -> None:
    assert any(says in text for text in check_order(recipe("O1", *treatments), load_steel("O1")))


def test_the_usual_order_has_nothing_to_say() -> None:
    chain = (
        {"do": "normalise"},
        {"do": "harden"},
        {"do": "snap temper"},
        {"do": "cold treatment"},
        {"do": "temper"},
    )
    assert check_order(recipe("O1", *chain), load_steel("O1")) == ()


def test_stress_relief_too_near_ac1_is_refused() -> None:
    with pytest.raises(ProfileError, match="above or too near Ac1"):
        planned("15N20", {"do": "stress relief", "at": "675 C"})


def test_goal_out_of_reach_says_what_can_be_reached() -> None:
    temper = {"do": "temper", "at": "218 C"}
    with pytest.raises(
        ProfileError, match=r"66-68 HRC is out of reach for O1: .* from 64 HRC .* down to 42 HRC"
    ):
        planned("O1", temper, oven=OVEN, goal_hrc=(66, 68))


def test_temper_without_temperature_or_goal() -> None:
    with pytest.raises(ProfileError, match="needs a temperature"):
        planned("O1", {"do": "temper"}, oven=OVEN)


def test_temper_from_a_goal_comes_from_the_card() -> None:
    made = planned("O1", {"do": "temper"}, oven=OVEN, goal_hrc=(60, 62))
    soaks = [s for s in made.profile.segments if isinstance(s, Soak)]
    assert len(soaks) == 2
    assert 190 <= soaks[0].at_c <= 235
    assert "± 2 HRC" in soaks[0].reason


def test_unreachable_heat_names_the_segment() -> None:
    weak = OVEN.model_copy(update={"limit_c": 900.0})
    with pytest.raises(RunRefused, match=r"segment 1 \(heat\): 850 .* is out of reach"):
        planned(None, {"do": "hold", "at": "850 C", "at_most": "1h"}, oven=weak)


def test_cooling_below_the_room_is_refused() -> None:
    with pytest.raises(RunRefused, match="never end"):
        planned("O1", {"do": "temper", "at": "218 C", "gate": "15 C"}, oven=OVEN)


def test_two_ovens_share_a_recipe() -> None:
    chain = ({"do": "harden"}, {"do": "temper", "at": "218 C", "oven": "tempering-oven"})
    hot = planned("O1", *chain)
    assert hot.elsewhere == ("temper in tempering-oven",)
    assert {s.purpose for s in hot.profile.segments} == {"harden"}


def test_anneals_on_the_wrong_side_of_ac1() -> None:
    with pytest.raises(ProfileError, match=r'below Ac1 \(717 °C\); that is type = "subcritical"'):
        planned("1084", {"do": "anneal", "type": "full", "at": "690 C"})
    said = planned("1084", {"do": "anneal", "type": "subcritical", "at": "730 C"}).warnings
    assert any("is above Ac1" in text for text in said)


def test_a_sealed_hollow_is_refused() -> None:
    with pytest.raises(ValueError, match="bursts when it is heated"):
        recipe("O1", {"do": "stress relief"}, sealed_hollow=True)


def test_the_plan_says_how_far_the_part_lags_and_what_not_to_load() -> None:
    notes = planned("O1", {"do": "temper", "at": "218 C"}, oven=OVEN, section="6 mm", surface="bright").notes
    assert any("its clock starts then" in note for note in notes)
    assert any("sealed hollow" in note for note in notes)


def test_predicted_hardness_spans_the_sources() -> None:
    made = planned("1095", {"do": "temper", "at": "218 C"}, oven=OVEN)
    low, high = predicted_hrc(made.profile, load_steel("1095")) or (0.0, 0.0)
    assert 57 < low < 61.5 <= high < 64
    assert predicted_hrc(planned("1095", {"do": "stress relief"}).profile, load_steel("1095")) is None


@pytest.mark.parametrize(
    ("treatment", "says"),
    [({"do": "normalise", "at": ()}, "no heat"), ({"do": "first firing", "step": ()}, "needs the steps")],
)
def test_empty_lists_are_refused(treatment: dict[str, object], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        recipe("1084", treatment)
