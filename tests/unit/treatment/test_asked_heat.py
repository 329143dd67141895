"""A heat held against a card: sheets of O1 (790-815 °C), AEB-L (avoid 450-600) and A2."""

import pytest

from kilnctl.treatment.asked_heat import Step, compared, nearest_step, usual_step
from kilnctl.treatment.steel.steels import load_steel


@pytest.mark.parametrize(
    ("grade", "at_c", "step", "says"),
    [
        ("O1", 800.0, None, "to harden O1: inside"),
        ("AEB-L", 1066.0, None, "inside the card's 1040 °C (1904 °F) to 1080 °C (1976 °F), between what"),
        ("O1", 900.0, None, "TOO HOT, 80 K above"),
        ("O1", 750.0, None, "TOO COLD by 30 K"),
        ("O1", 200.0, None, "to temper O1: 60-62 HRC"),
        ("O1", 600.0, "temper", "TOO HOT for its temper tables"),
        ("O1", 800.0, "temper", "TOO HOT: austenite starts"),
        ("O1", 120.0, "temper", "TOO COLD"),
        ("AEB-L", 500.0, "temper", "AVOID 450-600 °C"),
        ("A2", 900.0, "normalise", "DO NOT"),
        ("O1", 700.0, "preheat", "O1: "),
    ],
)
def test_a_heat_lies_inside_or_is_too_hot_or_too_cold(
    grade: str, at_c: float, step: Step | None, says: str
) -> None:
    assert says in compared(load_steel(grade), at_c, step)


@pytest.mark.parametrize("step", ["harden", "normalise", "anneal", "stress relief", "temper", "forge"])
@pytest.mark.parametrize("at_c", [400.0, 800.0, 1300.0])
def test_every_verdict_names_a_source_or_says_that_there_is_none(step: Step, at_c: float) -> None:
    said = compared(load_steel("1084"), at_c, step)
    verdict = said.split(": ", 1)[1]
    assert any(mark in verdict for mark in (" (", "no heat for that", " by ", "austenite starts at 717 °C, "))


def test_of_two_steps_the_nearer_is_meant() -> None:
    o1 = load_steel("O1")
    assert nearest_step(o1, 800.0, ("harden", "temper")) == "harden"
    assert nearest_step(o1, 200.0, ("harden", "temper")) == "temper"
    assert nearest_step(o1, 200.0, ()) is None
    assert usual_step(200.0) == "temper"
