"""Of the heat asked, how much shows: what a charge hides for a while, and a dead element for good."""

import math
from pathlib import Path

import pytest

from kilnctl.config.oven import load_oven
from kilnctl.control.pid_tuning import settled
from kilnctl.model.heat_shows import HeatShows
from kilnctl.model.nameplate import nameplate
from kilnctl.model.no_heat import Kept
from kilnctl.model.oven_model import advance, holding_duty

MODEL = nameplate(load_oven(Path(__file__).parents[3] / "profiles/ovens/hardening-furnace.toml"))
AT_C = 600.0


def first_lacking(comes, drinks=lambda s: 0.0, model=MODEL, for_s=900):
    """Ask for full heat, half a minute after something happened; return when too little shows, or None.

    `comes(s)` is the share that comes, `drinks(s)` what a charge takes of full power.
    """
    shows, state, asked = HeatShows(model), settled(model, AT_C, 20.0), holding_duty(model, AT_C, 20.0)
    shows.begin(Kept(0.0, 0.0, state), 30.0, 30.0 * asked, 20.0)
    state = advance(model, state, asked, 20.0, 30.0)
    for s in range(for_s):
        heat = asked if s < 30 else 1.0
        state = advance(model, state, heat * comes(s), 20.0, 1.0, -drinks(s))
        shows.step(state.junction_c, heat, 20.0, 1.0)
        if shows.lacking:
            return s
    return None


def test_an_element_that_is_dead_is_found_within_two_minutes():
    assert first_lacking(lambda s: 0.0) <= 120


@pytest.mark.parametrize("comes", [1.0, 0.8])
def test_a_sound_oven_and_a_tenth_less_of_its_supply_are_a_near_miss(comes):
    assert first_lacking(lambda s: comes) is None


def test_half_an_element_is_found_when_it_has_shown_a_half_for_a_minute_and_a_half():
    assert 90 < first_lacking(lambda s: 0.5) <= 200


def test_half_an_element_beside_a_charge_is_found_in_six_minutes():
    assert first_lacking(lambda s: 0.5, lambda s: 1.2 * math.exp(-s / 60.0)) <= 360


@pytest.mark.parametrize(("most", "fades_s"), [(1.2, 60.0), (0.8, 150.0), (3.0, 60.0)])
def test_a_charge_that_fades_is_a_near_miss(most, fades_s):
    assert first_lacking(lambda s: 1.0, lambda s: most * math.exp(-s / fades_s)) is None


def test_a_charge_too_heavy_for_the_heat_has_five_minutes_of_it():
    """It takes all of it ever after, as no charge does: found, and not before."""
    lacks_s = first_lacking(lambda s: 1.0, lambda s: 3.0 if s < 60 else 1.05)
    assert 300 <= lacks_s <= 420


def test_a_dead_element_beside_a_charge_is_found():
    assert first_lacking(lambda s: 0.0, lambda s: 0.8 * math.exp(-s / 100.0)) <= 420


def test_where_nearly_all_of_it_shows_both_courses_may_begin_anew_and_where_it_does_not_they_may_not():
    shows, state = HeatShows(MODEL), settled(MODEL, AT_C, 20.0)
    assert shows.may_begin
    for comes in (1.0, 0.0):
        shows.begin(Kept(0.0, 0.0, state), 0.0, 0.0, 20.0)
        there = state
        for _ in range(60):
            there = advance(MODEL, there, comes, 20.0, 1.0)
            shows.step(there.junction_c, 1.0, 20.0, 1.0)
        assert shows.may_begin is (comes == 1.0)
    shows.drop()
    assert not shows.lacking
