"""What the filter may learn and when: nothing before the sensor has moved, nothing from the air of a door."""

from dataclasses import replace

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.model.filter import OvenFilter
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel, OvenState, Usual, advance, at_rest
from kilnctl.model.trust import Trust

OVEN = load_oven(bundled("ovens") / "hardening-furnace.toml")
MODEL = replace(nameplate(OVEN), learned=True)
TRUST = Trust(lag_sd=0.25, power_sd=0.04, load_sd=0.5, unknown_sd=0.02, unknown_rate=4e-4, draught=True)


def heated(model: OvenModel, truth: OvenModel, until_c: float) -> tuple[OvenFilter, OvenState]:
    """Return a filter that watched an oven on full heat from cold until its sensor read so much."""
    seen, plant = OvenFilter(model, TRUST), at_rest(20.0)
    seen.step(20.0, 0.0, 20.0, 1.0)
    while plant.junction_c < until_c:
        plant = advance(truth, plant, 1.0, 20.0, 1.0)
        seen.step(plant.junction_c, 1.0, 20.0, 1.0)
    return seen, plant


@pytest.mark.parametrize(
    ("model", "silent_c"),
    [(MODEL, 60.0), (replace(MODEL, usual=Usual(0.0, 0.0, 100.0)), 40.0)],
    ids=["forty kelvin", "a quarter of the way to the first pause"],
)
def test_of_a_learned_oven_nothing_is_learned_before_its_sensor_has_moved(
    model: OvenModel, silent_c: float
) -> None:
    slow = MODEL.scaled(lag=1.3)
    before, _ = heated(model, slow, silent_c - 1.0)
    after, _ = heated(model, slow, silent_c + 60.0)
    assert before.logs == [0.0, 0.0, 0.0]
    assert before.learnt_sd[0] == pytest.approx(0.25, rel=0.02)
    assert after.logs[0] > 0.1


def test_an_oven_that_nobody_learned_is_not_silent() -> None:
    seen, _ = heated(replace(MODEL, learned=False), MODEL.scaled(lag=1.5), 58.0)
    assert seen.logs != [0.0, 0.0, 0.0]


def test_silence_ends_at_once_where_another_oven_stands_behind_the_file() -> None:
    seen, _ = heated(MODEL, MODEL.scaled(lag=3.0, power=0.4), 58.0)
    assert seen.surprise > 1.0
    assert seen.logs[0] > 0.3


def test_the_air_of_a_door_is_not_taken_for_a_quicker_sensor() -> None:
    seen, plant = heated(MODEL, MODEL, 64.0)
    before = list(seen.logs)
    for t in range(200):
        if t < 30:
            seen.shake(0.1)
        plant = advance(MODEL, plant, 0.0, 20.0, 1.0, 0.0, -60.0 if t < 30 else 0.0)
        seen.step(plant.junction_c, 0.0, 20.0, 1.0)
    assert seen.logs == before


def test_no_mass_is_colder_than_the_room_and_no_load_hotter_than_what_heats_it() -> None:
    seen, plant = heated(MODEL, MODEL, 120.0)
    for _ in range(60):
        seen.step(plant.junction_c - 60.0, 1.0, 20.0, 1.0)
        assert seen.state is not None
        # The room in the file may be 15 K off; between two corrections a mass moves by tenths.
        assert min(seen.state.nodes) >= 3.0
        assert seen.state.load_c <= max(seen.state.element_c, seen.state.face_c)


@pytest.mark.parametrize(("door", "most"), [(False, 0.4), (True, 1.5)])
def test_an_undisturbed_learned_oven_is_not_taken_to_miss_more_heat_than_it_ever_did(door, most):
    """A sensor falls by 0.3 K/s in a hold: without a door that is not the heat of three elements."""
    model = replace(nameplate(OVEN), learned=True)
    seen = OvenFilter(model, TRUST)
    seen.step(218.0, 0.2, 20.0, 1.0)
    seen.set_unknown_rate(0.01)
    if door:
        seen.shake(0.5)
    lowest = 0.0
    for t in range(120):
        seen.step(218.0 - 0.3 * t, 0.2, 20.0, 1.0)
        lowest = min(lowest, seen.unknown)
    assert -most <= lowest
    assert (lowest < -0.41) is door


def test_a_model_that_misses_its_own_learning_heat_learns_less_of_this_one_and_still_follows_it() -> None:
    """A muffle's filter took 1.3 K of misfit for a sensor that is a third quicker, and for six loads."""
    slow = MODEL.scaled(lag=1.3)
    exact, plant = heated(MODEL, slow, 160.0)
    poor, _ = heated(replace(MODEL, misfit_k=1.3), slow, 160.0)
    assert exact.logs[0] > 0.15
    assert 0.0 < poor.logs[0] < 0.6 * exact.logs[0]
    assert poor.learnt_sd[0] > 1.2 * exact.learnt_sd[0]
    assert poor.state is not None
    assert poor.state.junction_c == pytest.approx(plant.junction_c, abs=0.5)


def test_what_a_model_misses_is_not_taken_for_heat_from_nowhere_until_it_lasts() -> None:
    """A hold that puts half a minute of misfit down to unknown heat swings; one that never does stays low."""

    def unknown_after(misfit_k: float, seconds: int) -> float:
        seen, plant = heated(replace(MODEL, misfit_k=misfit_k), MODEL, 150.0)
        seen.set_unknown_rate(0.003)
        for _ in range(seconds):
            plant = advance(MODEL, plant, 0.2, 20.0, 1.0, -0.1)
            seen.step(plant.junction_c, 0.2, 20.0, 1.0)
        return seen.unknown

    assert unknown_after(0.0, 120) == pytest.approx(-0.1, abs=0.02)
    assert -0.05 < unknown_after(1.3, 120) < -0.02
    assert unknown_after(1.3, 1200) == pytest.approx(-0.1, abs=0.02)


def test_a_watchdog_takes_every_reading_as_it_is() -> None:
    """Only what steers allows for what its model misses: heat that is gone must be seen at once."""
    assert set(Trust(in_element=True).misfits_k2(1.3)) == {0.0}
    factors = [1.69, 1.69, 1.69]
    assert TRUST.misfits_k2(1.3) == pytest.approx([*factors, 0.0, 1.69 * 5.0 / 120.0])


def test_near_its_goal_less_of_what_a_poor_fit_misses_is_put_down_to_heat_from_nowhere() -> None:
    """A door's corner fell after its coast; its strayed temperatures passed for heat, and it swung by 6 K."""
    seen, plant = heated(replace(MODEL, misfit_k=1.0), MODEL, 150.0)
    seen.freeze()
    seen.set_unknown_rate(0.003)
    for _ in range(80):
        plant = advance(MODEL, plant, 0.2, 20.0, 1.0, -0.15)
        seen.step(plant.junction_c, 0.2, 20.0, 1.0)
    assert -0.06 < seen.unknown < -0.03
    assert seen.surprise < 0.8


def test_what_keeps_its_sign_walks_by_twice_its_square_over_that_time() -> None:
    """First-order Gauss-Markov noise (textbooks of estimation; from memory)."""
    assert TRUST.wanders_k2(0.0) == TRUST.drift_k**2
    assert TRUST.wanders_k2(1.2) == pytest.approx(TRUST.drift_k**2 + 2.0 * 1.44 / 120.0)
