"""Raw numbers to readings: sentinels, bounds, units, jumps."""

import pytest

from kilnctl.config.places import Switch
from kilnctl.config.wiring import Number, Temperature
from kilnctl.devices.signals import broken_by, confirmed, in_degc, is_jump, number
from kilnctl.errors import BadReply, NoReply
from kilnctl.readings import Quality, Reading


def sensor(**more):
    wired = {"device": "board", "table": "input", "register": 0, "unit": "C", "low": "-30 C", "high": "400 C"}
    return Temperature.model_validate({**wired, "scale": 0.1, **more})


def test_scale_and_offset():
    assert in_degc(sensor(offset=-10.0), 2180, None, 0).value == pytest.approx(208.0)


def test_fahrenheit_on_the_wire():
    assert in_degc(sensor(unit="F"), 4250, None, 0).value == pytest.approx(218.333, abs=1e-3)


@pytest.mark.parametrize("raw", [float("nan"), float("inf"), -float("inf")])
def test_what_is_not_finite_stops_here(raw):
    reading = in_degc(sensor(), raw, None, 0)
    assert (reading.quality, reading.value) == (Quality.NOT_FINITE, None)


def test_sentinel_is_an_open_sensor_even_inside_the_range():
    assert in_degc(sensor(open_values=(2180,)), 2180, None, 0).quality is Quality.OPEN


@pytest.mark.parametrize(("raw", "good"), [(-301, False), (-300, True), (4000, True), (4001, False)])
def test_bounds(raw, good):
    assert in_degc(sensor(), raw, None, 0).good is good


@pytest.mark.parametrize(
    ("error", "quality"), [(NoReply("x"), Quality.NO_REPLY), (BadReply("x"), Quality.BAD_REPLY)]
)
def test_errors_become_bad_readings(error, quality):
    assert in_degc(sensor(), error, None, 0).quality is quality


def test_number_bounds():
    volts = Number.model_validate(
        {"device": "b", "table": "input", "register": 0, "scale": 0.1, "low": 0, "high": 300}
    )
    assert number(volts, 2301, 0).value == pytest.approx(230.1)
    assert number(volts, 3001, 0).quality is Quality.OUT_OF_RANGE
    assert number(volts, NoReply("x"), 0).quality is Quality.NO_REPLY


def test_first_reading_and_steps_above_fifty_kelvin_are_jumps():
    assert is_jump(Reading.of(20, 0), None)
    assert not is_jump(Reading.of(70, 0), 20.0)
    assert is_jump(Reading.of(70.1, 0), 20.0)
    assert not is_jump(Reading.bad(Quality.OPEN, "", 0), None)


@pytest.mark.parametrize(
    ("second_c", "value"), [(301.0, 301.0), (21.0, 21.0), (150.0, None), (311.0, None), (310.0, 310.0)]
)
def test_confirmation(second_c, value):
    assert confirmed(Reading.of(300, 0), Reading.of(second_c, 0), 20.0).value == value


def test_confirmation_without_a_past_needs_agreement():
    assert confirmed(Reading.of(300, 0), Reading.of(21, 0), None).quality is Quality.UNCONFIRMED


def test_a_fault_that_is_neither_yes_nor_no_is_no_sound_sensor() -> None:
    fault = Switch.model_validate({"device": "b", "table": "input", "register": 1, "yes": (1,)})
    assert broken_by(fault, 0, 0.0) is None
    assert broken_by(fault, 1, 0.0).quality is Quality.OPEN
    assert broken_by(fault, 9, 0.0).quality is Quality.BAD_REPLY
