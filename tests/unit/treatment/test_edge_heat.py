"""Is a thin edge in sight of the elements foreseen to get hotter than the sensor, and the remedy named?"""

from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.model.oven_model import nameplate
from kilnctl.profile.segments import Profile
from kilnctl.treatment.edge_heat import TOLERANCE_K, edge_over_k, edge_warnings

OVEN = load_oven(Path("profiles/ovens/hardening-furnace.toml"))
MODEL = nameplate(OVEN)


def temper(rate=None, purpose="temper"):
    """A temper of an invented blade at 218 degC."""
    ramp = {"kind": "ramp", "to": "218 C"} | ({"rate": f"{rate} C/h"} if rate else {})
    soak = {"kind": "soak", "at": "218 C", "time": "30 min", "purpose": purpose}
    return Profile.model_validate({"name": "blade (invented)", "segment": (ramp, soak)})


def over_k(rate):
    profile = temper(rate)
    return edge_over_k(profile, profile.segments[0], profile.segments[1], OVEN, MODEL)


def test_the_faster_it_is_heated_the_hotter_the_edge_gets():
    assert over_k(None) > over_k(400.0) > over_k(100.0) > 0.0


def test_full_heat_with_open_elements_is_warned_of_with_a_remedy_and_what_patience_would_do():
    (warn,) = edge_warnings(temper(), OVEN, MODEL)
    assert warn.segment == 1
    assert "box" in warn.text
    assert f"about {over_k(None):.0f} K" in warn.text
    assert f"60 °C/h {over_k(60.0):.0f} K" in warn.text


def test_an_element_that_is_hardly_hotter_than_the_chamber_is_not_warned_of():
    mild = replace(MODEL, element_linear=100.0)
    profile = temper(60.0)
    assert edge_over_k(profile, profile.segments[0], profile.segments[1], OVEN, mild) < TOLERANCE_K
    assert edge_warnings(profile, OVEN, mild) == ()


@pytest.mark.parametrize("elements", ["plate", "muffle", "embedded", "fan", None])
def test_hidden_elements_and_those_of_which_nobody_told_are_not_warned_of(elements):
    assert edge_warnings(temper(), OVEN.model_copy(update={"elements": elements}), MODEL) == ()


def test_only_what_is_tempered_can_lose_a_temper():
    assert edge_warnings(temper(purpose="hold"), OVEN, MODEL) == ()
