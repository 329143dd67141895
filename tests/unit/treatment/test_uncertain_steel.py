"""What is not certain of a part is said in the plan and in the record: a guessed grade, a laminate."""

import pytest
from trade_plans import planned

from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.steels import load_steel

HARDEN, TEMPER = {"do": "harden"}, {"do": "temper", "at": "205 C"}


def test_a_guessed_grade_is_unproven_in_plan_and_record() -> None:
    """A grade that nobody knows is tried on a coupon first: harden, file, break, look (practice)."""
    made = planned("1084", HARDEN, TEMPER, steel_is_a_guess=True)
    assert any("guess" in text and "coupon" in text for text in made.warnings)
    for segment in made.profile.segments:
        if segment.kind == "soak":
            assert "unproven" in segment.reason, segment.label
    assert not any("unproven" in s.reason for s in planned("1084", HARDEN, TEMPER).profile.segments)


def test_a_laminate_takes_the_cautions_of_both() -> None:
    """15N20 turns to austenite from 664 degC (open database): what 1095 bears can be too hot for it."""
    made = planned("1095", HARDEN, TEMPER, cladding="15N20")
    assert any("core 1095" in text for text in made.warnings)
    assert any("cutting steel" in text for text in made.warnings)
    assert (made.profile.steel, made.profile.cladding) == ("1095", "15N20"), "the record names both"
    with pytest.raises(ProfileError, match=r"cladding 15N20.*Ac1"):
        planned("1095", {"do": "stress relief", "at": "670 C"}, cladding="15N20")
    with pytest.raises(ProfileError, match='no steel "15N2O"'):
        planned("1095", HARDEN, TEMPER, cladding="15N2O")


def test_a_laminate_may_have_a_jacket_of_iron() -> None:
    """Its core decides; iron stays soft (common practice)."""
    made = planned("1095", HARDEN, TEMPER, cladding="wrought iron")
    assert any("core 1095" in text for text in made.warnings)
    assert any("stays soft" in text for text in made.warnings)


def test_a_stainless_cladding_must_not_be_normalised() -> None:
    with pytest.raises(ProfileError, match=r"cladding 440C.*must not be normalised"):
        planned("1095", {"do": "normalise"}, cladding="440C")


def test_tempers_of_two_treatments_are_named_apart() -> None:
    second = {"do": "temper", "at": "180 C", "count": 1}
    made = planned("1084", HARDEN, TEMPER, second)
    labels = [s.label for s in made.profile.segments if s.kind == "soak" and s.purpose == "temper"]
    assert labels == ["temper 1 at 205 °C: soak", "temper 2 at 205 °C: soak", "temper 3 at 180 °C: soak"]


@pytest.mark.parametrize("name", ["unknown", "mystery", "?"])
def test_an_unknown_steel_is_sent_to_a_coupon(name: str) -> None:
    with pytest.raises(ProfileError, match=r"coupon"):
        load_steel(name)
