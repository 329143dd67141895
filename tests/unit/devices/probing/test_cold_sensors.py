"""The cold check of one sensor: what came damaged, or not at all, is no missing register."""

from itertools import product

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.config.places import Place
from kilnctl.config.wiring import Temperature
from kilnctl.devices.languages.modbus import decode, encode
from kilnctl.devices.probing.cold_sensors import explain_cold, open_sensor, turned_floats
from kilnctl.devices.probing.diagnoses import Diagnosis
from kilnctl.errors import BadReply, DeviceError, DeviceRefused, NoReply, PortLost

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
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


def with_a_float(value_c: float, order: tuple[str, str], told: tuple[str, str]) -> list[Diagnosis]:
    """Look at a float in one order through a file that tells another."""
    keys = ("word_order", "byte_order")
    shape = {"format": "float32", "register_no": 3}
    there = SENSOR.model_copy(update={**shape, **dict(zip(keys, order, strict=True))})
    words = encode(there, value_c)
    place = there.model_copy(update=dict(zip(keys, told, strict=True)))
    signal = OVEN.signal.model_copy(update={"process": place})
    return turned_floats(OVEN.model_copy(update={"signal": signal}), lambda asked: decode(asked, words))


@pytest.mark.parametrize("order", list(product(("high first", "low first"), ("big", "little"))))
@pytest.mark.parametrize("value_c", [4.0, 18.0, 20.0, 21.5, 30.0, 68.0])
def test_the_order_of_a_float_is_named_without_a_thermometer(value_c: float, order: tuple[str, str]) -> None:
    """Of a number of IEEE 754 in four orders only one is a temperature of a cold oven."""
    for told in product(("high first", "low first"), ("big", "little")):
        found = with_a_float(value_c, order, told)
        assert bool(found) == (told != order)
        assert all(f'word_order = "{order[0]}", byte_order = "{order[1]}"' in one.say for one in found)


def test_a_float_that_says_nothing_in_any_order_is_left_to_the_cold_check() -> None:
    assert with_a_float(0.0, ("high first", "big"), ("low first", "big")) == []
    assert with_a_float(float("nan"), ("high first", "big"), ("high first", "big")) == []


@pytest.mark.parametrize(("told", "good"), [("low first", True), ("high first", False)])
def test_a_device_that_refuses_half_a_number_is_asked_for_whole_ones(told: str, good: bool) -> None:
    """An invented instrument answered floats alone: the cold check said that it had no such register."""
    there = SENSOR.model_copy(update={"format": "float32", "register_no": 0, "word_order": "low first"})
    words = encode(there, 21.5)

    def read(asked: Place) -> float | DeviceError:
        whole = (asked.register_no, asked.registers) == (0, 2)
        return decode(asked, words) if whole else DeviceRefused("exception 2")

    place = there.model_copy(update={"word_order": told})
    found = explain_cold("signal.process", place, read, 20.0, registers=True)
    assert found.good is good
    assert good or 'word_order = "low first"' in found.say


def _beside(
    name: str, shows: dict[int, float], used: tuple[int, ...] = (), room_c: float = 21.0
) -> Diagnosis:
    """Judge register 3 of a module whose registers show these temperatures."""

    def read(place: Place) -> float | DeviceError:
        return shows.get(place.register_no, DeviceRefused("no"))

    taken = frozenset((SENSOR.device, SENSOR.table, one) for one in used)
    return explain_cold(name, SENSOR, read, room_c, registers=True, taken=taken)


@pytest.mark.parametrize(("shown_c", "good"), [(24.3, True), (35.5, True), (37.0, False), (16.0, False)])
def test_a_cold_junction_may_be_as_warm_as_its_box(shown_c: float, good: bool) -> None:
    """Terminals warm themselves, by up to some 15 K (common practice, no single source), and never cool."""
    found = _beside("signal.cold_junction", {2: 21.1, 3: shown_c})
    assert found.good is good
    assert found.off_by_k is None  # the tight rule is for what stands in the oven


def test_no_register_is_advised_that_another_signal_has() -> None:
    """Terminals at 24.3 °C were told to read the oven's own sensor."""
    assert "register = 2" in _beside("signal.process", {2: 21.1, 3: 27.0}).say
    for shown_c in (27.0, 60.0):
        assert "register = 2" not in _beside("signal.process", {2: 21.1, 3: shown_c}, used=(2,)).say
    gone = _beside("signal.process", {2: 21.1}, used=(2,))
    assert "the device has no input 3" in gone.say
    assert "register = 2" not in gone.say


def test_an_open_sensor_is_not_sent_to_the_channel_of_another() -> None:
    broken = SENSOR.model_copy(update={"open_values": (32767,)})
    shows = {2: 900.0, 3: 32767.0, 4: 21.0}

    def said(taken: frozenset[tuple[str, str, int]]) -> str:
        found = open_sensor("signal.process", broken, lambda place: shows[place.register_no], True, taken)
        return found.say if found else ""

    assert "register = 4 shows 21.0" in said(frozenset())
    assert "register = 4" not in said(frozenset({(SENSOR.device, SENSOR.table, 4)}))
