"""The cold check of one sensor: what came damaged, or not at all, is no missing register."""

import pytest

from kilnctl.config.places import Place
from kilnctl.config.wiring import Temperature
from kilnctl.devices.probing.cold_sensors import explain_cold
from kilnctl.errors import BadReply, DeviceError, DeviceRefused, NoReply, PortLost

SENSOR = Temperature.model_validate(
    {"device": "board", "table": "input", "register": 3, "unit": "C", "low": "-20 C", "high": "400 C"}
)


@pytest.mark.parametrize("error", [NoReply, BadReply, PortLost])
def test_an_answer_that_was_none_is_told_as_what_it_was(error: type[DeviceError]) -> None:
    def read(_place: Place) -> DeviceError:
        return error("board, reading input 3: its checksum is wrong")

    found = explain_cold("signal.process", SENSOR, read, 20.0, registers=True)
    assert not found.good
    assert "checksum is wrong" in found.say
    assert "register table" not in found.say


def test_a_register_that_the_device_refuses_is_missing() -> None:
    found = explain_cold("signal.process", SENSOR, lambda _: DeviceRefused("no"), 20.0, registers=True)
    assert "the device has no input 3" in found.say


def test_a_device_that_sends_kelvins_is_told_so() -> None:
    def read(place: Place) -> float | DeviceError:
        return 2935.0 if place.register_no == 3 else DeviceRefused("no")

    tenths = SENSOR.model_copy(update={"scale": 0.1})
    found = explain_cold("signal.process", tenths, read, 20.0, registers=True)
    assert "With offset = -273.15 it would show 20.4 °C: it sends kelvins" in found.say
