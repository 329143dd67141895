"""Judging a short pulse of heat, and the state after power-up."""

import pytest

from kilnctl.devices.probing.diagnoses import (
    PULSE_SHARE_GUESSED,
    PULSE_SHARE_LEARNED,
    judge_power_up,
    judge_pulse,
)


@pytest.mark.parametrize(
    ("rises", "live", "kind", "words"),
    [
        ({"oven": 18.0, "furnace": 0.3}, None, "pulse", "nobody else did"),
        ({"oven": 0.2, "furnace": 8.0}, None, "crossed", "are crossed"),
        ({"oven": 15.0, "furnace": 8.0}, None, "crossed", "both heaters are driven"),
        ({"oven": -6.0, "furnace": 0.0}, None, "reversed", "leads are swapped"),
        # a sensor that still settles from the hand that warmed it falls too, by less than a pulse moves it
        ({"oven": -2.0, "furnace": 0.0}, None, "no heat", "off by one"),
        ({"oven": 0.1, "furnace": 0.0}, False, "no heat", "no power at the element"),
        ({"oven": 0.1, "furnace": 0.0}, True, "no heat", "sensor is not in the chamber"),
        ({"oven": 0.1, "furnace": 0.0}, None, "no heat", "off by one"),
        ({"oven": 30.0, "furnace": 0.0}, None, "too much heat", "unit and scale"),
    ],
)
def test_pulse(rises, live, kind, words):
    """A 60 s pulse on the small demo oven is expected to show 18 K (1200 W x 60 s / 4 kJ/K)."""
    finding = judge_pulse("oven", rises, 18.0, live)
    assert finding.kind == kind
    assert words in finding.say
    assert finding.good is (kind == "pulse")


@pytest.mark.parametrize(
    ("rise_k", "share", "good"),
    [
        (2.6, PULSE_SHARE_GUESSED, False),
        (2.8, PULSE_SHARE_GUESSED, True),
        (23.3, PULSE_SHARE_GUESSED, True),
        (23.5, PULSE_SHARE_GUESSED, False),
        (10.7, PULSE_SHARE_LEARNED, False),
        (10.9, PULSE_SHARE_LEARNED, True),
        (25.1, PULSE_SHARE_LEARNED, True),
        (25.3, PULSE_SHARE_LEARNED, False),
    ],
)
def test_a_guess_is_judged_widely_and_a_learned_oven_closely(rise_k, share, good):
    assert judge_pulse("oven", {"oven": rise_k}, 18.0, share=share).good is good


@pytest.mark.parametrize(
    ("states", "good"),
    [({"heater": False, "contactor": False}, True), ({"heater": True}, False), ({"heater": None}, False)],
)
def test_power_up(states, good):
    assert judge_power_up(states).good is good


def test_an_oven_quicker_than_its_build_is_told_the_build_that_fits() -> None:
    """An invented small oven rose by 46 K in a minute; of the five builds only the quick one explains it."""
    others = {"fan": 24.0, "brick": 30.0, "fibre": 55.0}
    found = judge_pulse("oven", {"oven": 46.0}, 22.0, others_k=others)
    assert not found.good
    assert 'build = "fibre"' in found.say
    none = judge_pulse("oven", {"oven": 300.0}, 22.0, others_k=others)
    assert "set to the sensor's type" in none.say
    assert "build =" not in none.say
