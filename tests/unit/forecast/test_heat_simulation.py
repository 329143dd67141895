"""An oven with a recorded cooling: one fit heats, the other cools and heats again."""

from dataclasses import replace
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.forecast.heat_simulation import HeatSimulation, SimulatedState, resting
from kilnctl.model.nameplate import BUILDS, nameplate
from kilnctl.profile.segments import Profile

FURNACE = load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml")
FITTED = nameplate(FURNACE)
HEAVY = replace(FITTED, wall=2.0 * FITTED.wall)
TWICE = Profile.model_validate(
    {
        "name": "x",
        "segment": (
            {"kind": "ramp", "to": "700 C"},
            {"kind": "soak", "at": "700 C", "time": "1 h"},
            {"kind": "cool", "to": "300 C"},
            {"kind": "ramp", "to": "600 C"},
        ),
    }
)


def took_s(model):
    ends_s = HeatSimulation(TWICE, model, 20.0, SimulatedState(resting(20.0, 20.0))).whole().ends_s
    return [ends_s[n] - ends_s.get(n - 1, 0.0) for n in range(4)]


def test_a_cooling_that_says_what_the_heat_up_said_changes_nothing():
    assert took_s(replace(FITTED, cools=FITTED)) == pytest.approx(took_s(FITTED), abs=20.0)


def test_the_first_fit_heats_and_the_wall_that_it_did_not_know_cools_and_is_heated_again():
    one, heavy, two = took_s(FITTED), took_s(HEAVY), took_s(replace(FITTED, cools=HEAVY))
    assert two[:2] == one[:2]
    assert two[2] == pytest.approx(heavy[2], rel=0.1)
    assert two[3] == pytest.approx(heavy[3], rel=0.05)
    assert heavy[2] > 1.15 * one[2]


def test_the_unknown_heat_of_a_first_fit_does_not_go_on_in_the_second():
    start = SimulatedState(resting(20.0, 20.0), unknown=0.05)
    with_it, without = (
        HeatSimulation(TWICE, replace(FITTED, cools=HEAVY), 20.0, begun).whole().ends_s
        for begun in (start, replace(start, unknown=0.0))
    )
    assert with_it[0] < without[0]
    assert with_it[3] - with_it[2] == pytest.approx(without[3] - without[2], rel=0.03)


@pytest.mark.parametrize("build", BUILDS)
@pytest.mark.parametrize("rate", [{}, {"rate": "900 C/h"}])
def test_no_heat_is_foreseen_to_coast_through_its_trip_line(build, rate) -> None:
    """A plan of 50 °C in a fibre furnace drew 77 °C, and its heat is off at 65; no control goes so far."""
    oven = FURNACE.model_copy(update={"build": build})
    soak = {"kind": "soak", "at": "50 C", "time": "20 min"}
    profile = Profile.model_validate(
        {"name": "low", "segment": ({"kind": "ramp", "to": "50 C"} | rate, soak)}
    )
    heat = HeatSimulation(profile, nameplate(oven), 20.0, SimulatedState(resting(20.0, 20.0))).whole()
    assert heat.complete
    assert 49.0 < max(heat.curve_c) < 55.0
