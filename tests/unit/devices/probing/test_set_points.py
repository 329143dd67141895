"""A set-point for a look at an instrument's display: nothing may heat, also where the scale is wrong."""

import pytest

from kilnctl.config.wiring import Heater, Temperature
from kilnctl.devices.probing.set_points import low_set_point

AT = {"device": "panel", "table": "holding"}
PROCESS = Temperature.model_validate({**AT, "register": 0, "unit": "C", "low": "-20 C", "high": "900 C"})
SET_POINT = {"kind": "set-point", "unit": "C", "park": "0 C", "link_loss": "holds"}


class Panel:
    def __init__(self, room_c: float, takes: bool = True) -> None:
        self.cells, self.takes = {0: room_c, 2: 0.0}, takes

    def write(self, place, raw, force=False) -> None:
        self.cells[place.register_no] = raw if self.takes else 0.0

    def read(self, place) -> float:
        return self.cells[place.register_no]


@pytest.mark.parametrize("scale", [1.0, 0.1])
def test_ten_times_the_set_point_is_still_below_the_room(scale: float) -> None:
    panel = Panel(room_c=20.0)
    heater = Heater.model_validate({**AT, "register": 2, "scale": scale, **SET_POINT})
    assert low_set_point(heater, PROCESS, panel, panel.read) == "1 °C (33.8 °F)"
    assert panel.cells[2] * scale == pytest.approx(1.0)
    assert panel.cells[2] <= 10.0  # ten times as much in a room of 20


@pytest.mark.parametrize("scale", [1.0, 0.1])
def test_degrees_fahrenheit_that_are_taken_for_celsius_or_tenths_heat_nothing_either(scale: float) -> None:
    panel = Panel(room_c=20.0)
    heater = Heater.model_validate({**AT, "register": 2, "scale": scale, **SET_POINT, "unit": "F"})
    assert low_set_point(heater, PROCESS, panel, panel.read) == "1 °F (-17.2 °C)"
    assert panel.cells[2] <= 10.0  # whatever the instrument takes it for, in a room of 20


def test_a_number_that_is_not_read_back_is_parked_again() -> None:
    panel = Panel(room_c=20.0)
    heater = Heater.model_validate({**AT, "register": 2, **SET_POINT, "park": "5 C"})
    blind = iter([20.0, 300.0, 5.0])  # the room, something else than was written, the park
    assert low_set_point(heater, PROCESS, panel, lambda place: next(blind)) == ""
    assert panel.cells[2] == 5.0


@pytest.mark.parametrize(("room_c", "takes"), [(8.0, True), (20.0, False)])
def test_a_cold_workshop_and_a_panel_that_takes_no_number_are_not_asked(room_c: float, takes: bool) -> None:
    panel = Panel(room_c, takes)
    heater = Heater.model_validate({**AT, "register": 2, **SET_POINT})
    assert low_set_point(heater, PROCESS, panel, panel.read) == ""
    assert panel.cells[2] == 0.0
