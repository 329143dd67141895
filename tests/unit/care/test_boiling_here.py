"""A place as it is typed, and where water boils there: 95 °C at 846.1 hPa, 90 at 701.8 (a steam table)."""

import pytest

from kilnctl.care.boiling import boils_here
from kilnctl.errors import ConfigError, UnitError


@pytest.mark.parametrize(
    ("place", "due_c"), [("846.1 hPa", 95.0), ("84.61 kPa", 95.0), ("701.8 mbar", 90.0), ("526.4 mmHg", 90.0)]
)
def test_a_pressure_says_it_to_a_hundredth(place: str, due_c: float) -> None:
    at_c, weather_k = boils_here(place)
    assert at_c == pytest.approx(due_c, abs=0.01)
    assert weather_k == 0.0


def test_feet_and_metres_are_heights_and_leave_the_weather_open() -> None:
    assert boils_here("3281 ft") == pytest.approx(boils_here("1000 m"), abs=0.01)
    assert boils_here("1000 m")[1] > 0.8


@pytest.mark.parametrize("place", ["home", "938", "", "938 bar", "20 hPa", "50 km", "-9000 m"])
def test_what_is_no_place_is_refused(place: str) -> None:
    with pytest.raises((ConfigError, UnitError)):
        boils_here(place)
