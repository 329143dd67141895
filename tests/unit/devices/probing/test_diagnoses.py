"""Judging a short pulse of heat, and the state after power-up."""

import pytest

from kilnctl.devices.probing.diagnoses import judge_power_up
from kilnctl.devices.probing.pulse_judgement import PulseDue, judge_power, judge_pulse


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
    finding = judge_pulse("oven", rises, PulseDue(10.8, 25.2, 18.0), live)
    assert finding.kind == kind
    assert words in finding.say
    assert finding.good is (kind == "pulse")


@pytest.mark.parametrize(
    ("rise_k", "due", "good", "words"),
    [
        (0.9, PulseDue(1.0, 150.0), False, "1.0 K at least were expected"),
        (1.1, PulseDue(1.0, 150.0), True, ""),
        (149.0, PulseDue(1.0, 150.0), True, ""),
        (151.0, PulseDue(1.0, 150.0), False, "set to the sensor's type"),
        (10.7, PulseDue(10.8, 25.2, 18.0), False, "part of the element dead"),
        (10.9, PulseDue(10.8, 25.2, 18.0), True, ""),
        (25.3, PulseDue(10.8, 25.2, 18.0), False, "has it changed"),
        (4.4, PulseDue(4.5, 144.0, 18.0, (11.7, 46.8)), False, "part of the element dead"),
        (11.0, PulseDue(4.5, 144.0, 18.0, (11.7, 46.8)), True, "That is little. Is part of the element dead"),
        (12.0, PulseDue(4.5, 144.0, 18.0, (11.7, 46.8)), True, ""),
        (47.0, PulseDue(4.5, 144.0, 18.0, (11.7, 46.8)), True, "That is much. First see whether the module"),
    ],
)
def test_the_more_is_known_of_an_oven_the_closer_a_pulse_is_judged(rise_k, due, good, words):
    found = judge_pulse("oven", {"oven": rise_k}, due)
    assert found.good is good
    assert words in found.say
    assert words or "That is" not in found.say


@pytest.mark.parametrize(
    ("drawn_w", "words"),
    [(1200.0, ""), (900.0, ""), (600.0, "part of the element is dead"), (1700.0, "another element")],
)
def test_half_an_element_draws_half_its_power(drawn_w, words):
    """Ohm's law: one of two equal elements side by side gone, half the current is left."""
    found = judge_power(drawn_w, 1200.0)
    assert found.good is (not words)
    assert words in found.say


@pytest.mark.parametrize(
    ("states", "good"),
    [({"heater": False, "contactor": False}, True), ({"heater": True}, False), ({"heater": None}, False)],
)
def test_power_up(states, good):
    assert judge_power_up(states).good is good
