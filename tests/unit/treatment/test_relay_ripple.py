"""A relay's window that makes a soak swing is told before the heat, with one that does not."""

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control.time_proportioning import SwitchState, advance_switch, times_of
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance
from kilnctl.model.ripple import in_soaks
from kilnctl.profile.segments import Profile
from kilnctl.treatment.planning import plan_profile
from kilnctl.treatment.relay_ripple import ripple_warnings

FURNACE = load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml")
BRICK = replace(nameplate(FURNACE), learned=True)
LIGHT = replace(
    nameplate(FURNACE.model_copy(update={"build": "fibre"})), learned=True, sheath_s=20.0, face=0.15
)


def soaks(*goals_c: float) -> Profile:
    soak = [{"kind": "soak", "at": f"{at_c} C", "time": "30 min"} for at_c in goals_c]
    ramps = [{"kind": "ramp", "to": f"{at_c} C"} for at_c in goals_c]
    segments = [s for pair in zip(ramps, soak, strict=True) for s in pair]
    return Profile.model_validate({"name": "soaks", "segment": tuple(segments)})


def switched(**times):
    kind = {"kind": "contactor", "window_s": 30.0, "min_on_s": 3.0, "min_off_s": 3.0} | times
    return FURNACE.model_copy(update={"switching": FURNACE.switching.model_copy(update=kind)})


def rms_k(oven, model, at_c):
    """Return what the relay itself makes of an even duty, an hour long: its scatter about the even course."""
    state, duty = in_soaks(model, at_c, oven.ambient_c)[0]
    even = pulsed = state
    relay, off_k, on = SwitchState(), [], False
    for second in range(3600):
        relay, on = advance_switch(times_of(oven.switching), relay, duty, 1.0)
        even = advance(model, even, duty, oven.ambient_c, 1.0)
        pulsed = advance(model, pulsed, float(on), oven.ambient_c, 1.0)
        if second >= 2400:
            off_k.append(pulsed.junction_c - even.junction_c)
    mean_k = sum(off_k) / len(off_k)
    return math.sqrt(sum((k - mean_k) ** 2 for k in off_k) / len(off_k))


def test_a_light_oven_is_told_the_window_that_keeps_it_within_half_a_kelvin():
    (warn,) = ripple_warnings(soaks(218, 829, 829), switched(), LIGHT)
    assert warn.segment == 3
    assert "829 °C" in warn.text
    assert "contactor closes" in warn.text
    found = re.search(r'window = "(\d+) s"', warn.text)
    shorter_s = float(found.group(1))
    assert rms_k(switched(), LIGHT, 829.0) > 0.6
    assert rms_k(switched(window_s=shorter_s), LIGHT, 829.0) <= 0.55
    assert ripple_warnings(soaks(829), switched(window_s=shorter_s), LIGHT) == ()


@pytest.mark.parametrize(
    ("oven", "model"),
    [
        (switched(), BRICK),
        (switched(), replace(LIGHT, learned=False)),
        (switched(kind="solid-state", window_s=2.0, min_on_s=0.1, min_off_s=0.1), LIGHT),
    ],
)
def test_nothing_is_said_of_a_heavy_oven_one_that_is_not_learned_or_a_quick_relay(oven, model):
    assert ripple_warnings(soaks(829), oven, model) == ()


def test_where_the_least_times_of_a_contactor_forbid_it_a_solid_state_relay_is_named():
    (warn,) = ripple_warnings(soaks(829), switched(min_on_s=20.0, min_off_s=20.0), LIGHT)
    assert "window =" not in warn.text
    assert "solid-state relay" in warn.text


def test_no_soak_and_a_goal_out_of_reach_are_no_cause():
    ramp = Profile.model_validate({"name": "ramp", "segment": ({"kind": "ramp", "to": "829 C"},)})
    assert ripple_warnings(ramp, switched(), LIGHT) == ()
    assert ripple_warnings(soaks(829), switched(), LIGHT.scaled(power=0.2)) == ()


def test_the_plan_says_it():
    said = plan_profile(soaks(829), None, switched(), LIGHT).warnings
    assert any(text.startswith("step 2: at 829 °C") and "swings by" in text for text in said)
