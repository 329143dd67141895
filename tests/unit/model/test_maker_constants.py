"""What a maker measured of an oven, judged on the simulator's ovens, which are built in another way.

The time from cold and the watts that hold a heat are taken from the simulated oven itself, as a maker would
with a clock and an energy meter; the forecast of another heat must come nearer to its truth for it.
"""

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import Measured, Oven, load_oven
from kilnctl.errors import ConfigError
from kilnctl.model.maker_constants import first_guess, is_timed
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance as model_advance
from kilnctl.model.oven_model import at_rest, holding_duty, sensor_c
from kilnctl.tomlfile import made
from simulator.oven import ovens
from simulator.oven.plant import Plant

FURNACE = load_oven(bundled("ovens") / "hardening-furnace.toml")
STEP_S = 20.0


def plant_heats_s(plant: Plant, to_c: float) -> float:
    seconds = 0.0
    while plant.sensor.junction_c < to_c:
        plant.advance(1.0, STEP_S)
        seconds += STEP_S
    return seconds


def plant_holds_w(plant: Plant, at_c: float, power_w: float) -> float:
    """The mean power of half a day at one heat, switched by a plain thermostat."""
    on = 0.0
    for step in range(12 * 180):
        duty = float(plant.sensor.junction_c < at_c)
        plant.advance(duty, STEP_S)
        on += duty * (step >= 10 * 180)
    return on / (2 * 180) * power_w


def model_heats_s(oven: Oven, to_c: float, plain: bool = False) -> float:
    model = nameplate(oven) if plain else first_guess(oven)
    state, seconds = at_rest(20.0), 0.0
    while sensor_c(state) < to_c and seconds < 40 * 3600:
        state = model_advance(model, state, 1.0, 20.0, STEP_S)
        seconds += STEP_S
    return seconds


def measured(**keys: str) -> Oven:
    return FURNACE.model_copy(update={"measured": made(keys, Measured, ConfigError, "measured")})


@pytest.mark.parametrize("seed", [1, 3])
def test_another_heat_is_foreseen_nearer_to_the_oven_than_from_its_plate(seed: int) -> None:
    def plant() -> Plant:
        return ovens.random_oven("brick", seed, power_w=FURNACE.power_w)

    took_s = plant_heats_s(plant(), 800.0)
    holds_w = plant_holds_w(plant(), 800.0, FURNACE.power_w)
    oven = measured(heats_to="800 C", takes=f"{took_s:.0f} s", holds_with=f"{holds_w:.0f} W")
    assert model_heats_s(oven, 800.0) == pytest.approx(took_s, rel=0.02)
    true_s = plant_heats_s(plant(), 600.0)
    assert model_heats_s(oven, 600.0) == pytest.approx(true_s, rel=0.15)
    assert holding_duty(first_guess(oven), 800.0, 20.0) * FURNACE.power_w == pytest.approx(holds_w, rel=0.02)


def test_a_heavier_lining_heats_slower_and_is_no_oven_of_its_own() -> None:
    light, heavy = measured(lining="20 kg"), measured(lining="60 kg")
    assert model_heats_s(heavy, 700.0) > 1.3 * model_heats_s(light, 700.0)
    assert first_guess(FURNACE) == nameplate(FURNACE)
    assert not first_guess(heavy).learned


@pytest.mark.parametrize(
    "keys",
    [
        {},
        {"heats_to": "800 C"},
        {"takes": "70 min"},
        {"holds_with": "600 W"},
        {"heats_to": "10 C", "takes": "1h"},
    ],
)
def test_half_a_measurement_is_refused(keys: dict[str, str]) -> None:
    with pytest.raises(ConfigError):
        measured(**keys)


def test_what_no_oven_of_that_power_does_is_refused() -> None:
    with pytest.raises(ConfigError, match="power"):
        first_guess(measured(heats_to="800 C", takes="2 min"))


@pytest.mark.parametrize(("to", "whole"), [("200 C", False), ("800 C", True)])
def test_the_minutes_to_200_do_not_tell_how_a_kiln_goes_on(to: str, whole: bool) -> None:
    """Asked at `oven new` for the heater pulse, they would make a forecast of 870 °C look sure."""
    oven = measured(heats_to=to, takes="20 min" if to == "200 C" else "150 min")
    assert is_timed(oven) is whole
    assert (first_guess(oven).covariance[0][0] < nameplate(oven).covariance[0][0]) is whole
