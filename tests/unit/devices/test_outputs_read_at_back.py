"""The place `back` of a heater that takes an amount shows an amount: off is park, or the off value."""

import pytest

from kilnctl.config.wiring import Heater
from kilnctl.devices.outputs import back_amount, back_is_on
from kilnctl.devices.probing.diagnoses import kept_set_point, read_so
from kilnctl.errors import NoReply

PLACE = {"device": "panel", "table": "holding", "register": 122, "format": "float32"}
FLOAT = {"device": "panel", "table": "holding", "register": 2, "format": "float32"}
WHOLE = {"device": "panel", "table": "holding", "register": 2, "format": "int16"}
PANEL = {**PLACE, "kind": "set-point", "unit": "C", "link_loss": "holds"}


def heater(**keys: object) -> Heater:
    return Heater.model_validate(keys)


@pytest.mark.parametrize(
    ("park", "back", "raw", "on"),
    [
        ("20 C", FLOAT, 20.0, False),
        ("0 C", FLOAT, 0.0, False),
        ("0 C", FLOAT, 20.0, True),
        ("20 C", FLOAT, 300.0, True),
        ("20 C", FLOAT, float("nan"), True),
        ("20 C", {**WHOLE, "scale": 0.1}, 200, False),
        ("20 C", {**WHOLE, "scale": 0.1}, 1, True),
        ("20 C", WHOLE, 0, False),  # a mode: 0 is stand-by
        ("20 C", WHOLE, 20, True),
        ("20 C", {**WHOLE, "bit": 3}, 0, False),
    ],
)
def test_a_set_point_that_is_read_back_is_compared_with_park(park, back, raw, on) -> None:
    """A set-point in force of 20.0 was told as "came up ON": any number but 0 was a yes."""
    assert back_is_on(heater(**PANEL, park=park, back=back), raw) is on


def test_a_power_that_is_read_back_is_compared_with_the_off_value() -> None:
    from_four = heater(**PLACE, kind="duty", on=20, off=4, back=FLOAT)
    assert back_is_on(from_four, 4.0) is False
    assert back_is_on(from_four, 4.5) is True
    assert back_is_on(from_four, 0.0) is True  # no power of this one: a dead input proves no off
    assert back_is_on(from_four, NoReply("x")) is None
    assert back_amount(heater(**{**PLACE, "format": "int16"}, back=FLOAT), 4.0) is None  # a switch


def test_what_is_read_is_said_in_the_words_of_the_key() -> None:
    panel = heater(**PANEL, park="0 C", back=FLOAT)
    assert "output.heater.back (holding 2, a set-point) reads 20, off is 0." in read_so(20.0, panel)
    assert "set-point 20" in kept_set_point(20.0, 0.0).say
