"""What the cold check proposes for a wrong number: it lands in the step's own tolerance, or is not said."""

import re
from itertools import product

import pytest

from kilnctl.config.places import Place
from kilnctl.config.wiring import Temperature
from kilnctl.devices.probing.cold_sensors import explain_cold
from kilnctl.devices.probing.cures import APART_K
from kilnctl.devices.probing.diagnoses import NEAR_K
from kilnctl.errors import DeviceError, DeviceRefused

SENSOR = Temperature.model_validate(
    {"device": "board", "table": "input", "register": 3, "unit": "C", "low": "-20 C", "high": "400 C"}
)
STEPS = (0.5, 0.25, 0.2, 0.125, 0.1, 0.0625, 0.01, 1.0)  # of one count, as converters have them
SAYS = re.compile(r"With ([^.]+(?:\.\d+[^.]*)*?) it would show (-?[\d.]+) °C")


def asked(raw: float, scale: float, room_c: float, **more: object) -> str:
    """Return what is said of a board with nothing beside its one register."""

    def read(place: Place) -> float | DeviceError:
        return raw if place.register_no == SENSOR.register_no else DeviceRefused("no")

    place = SENSOR.model_copy(update={"scale": scale, **more})
    return explain_cold("signal.process", place, read, room_c, registers=True).say


def test_a_quarter_of_a_degree_taken_for_tenths() -> None:
    """80 counts of 0.25 °C are 20 °C; in °F they would be 26.7 °C, which the cold check refuses too."""
    said = asked(80.0, 0.1, 20.0)
    assert "With scale = 0.25 it would show 20.0 °C" in said
    assert 'unit = "F"' not in said


@pytest.mark.parametrize("room_c", [14.0, 20.0, 27.0])
@pytest.mark.parametrize(("true", "told"), [one for one in product(STEPS, STEPS) if one[0] != one[1]])
def test_the_true_step_is_among_what_is_proposed_and_nothing_else_is_further_off_than_the_check_allows(
    true: float, told: float, room_c: float
) -> None:
    raw = round(room_c / true)
    said = asked(raw, told, room_c)
    for _, shown in SAYS.findall(said):
        assert abs(float(shown) - room_c) <= APART_K
    if abs(raw * told - room_c) > NEAR_K:
        assert f"scale = {true:g}" in said


def test_of_several_that_fit_each_is_named_and_the_list_decides() -> None:
    """272 counts: a quarter of a °F (68 °F), or a sixteenth of a °C (17 °C)."""
    said = asked(272.0, 1.0, 20.0)
    assert "scale = 0.0625" in said
    assert 'unit = "F", scale = 0.25' in said
    assert "the board's list decides" in said


def test_a_pair_that_may_fit_by_chance_says_what_decides() -> None:
    """132 counts are an oven still warm (33 °C at a quarter), or halves of a °F: only the list knows."""
    said = asked(133.0, 0.25, 20.0)
    assert 'unit = "F", scale = 0.5' in said
    assert "the board's list decides" in said
    assert "still warm" in said
    assert "list decides" not in asked(80.0, 0.1, 20.0)


def test_where_nothing_fits_no_pair_is_named() -> None:
    said = asked(55.0, 1.0, 20.0)
    assert "With" not in said
    assert "scale" in said
    assert "board's list" in said


def test_a_sensor_that_is_a_little_off_may_be_one_of_another_step() -> None:
    """80 counts at 0.2 are 16 °C: a sensor that is still cold, or one that counts quarters."""
    said = asked(80.0, 0.2, 20.0)
    assert "With scale = 0.25 it would show 20.0 °C" in said
    assert "give sensor and thermometer an hour" in said
    assert "With" not in asked(172.0, 0.1, 20.0)


@pytest.mark.parametrize("raw", [2985.0, 2880.0])
def test_kelvins_are_no_cure_where_they_miss_the_room(raw: float) -> None:
    """25.4 and 14.9 °C in a room of 20 °C are more than the check takes."""
    assert "kelvins" not in asked(raw, 0.1, 20.0)
