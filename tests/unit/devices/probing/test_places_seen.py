"""A place that a device does not have: where its value may be instead, or which other device has it."""

from collections.abc import Callable

import pytest

from kilnctl.config.device_keys import ModbusDevice
from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.config.places import Place
from kilnctl.devices.probing.places_seen import places_seen, who_has
from kilnctl.errors import DeviceBusy, DeviceError, DeviceRefused

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
Read = Callable[[Place], float | DeviceError]


def lacks(has: Callable[[Place], bool], error: DeviceError | None = None) -> Read:
    """Return a board that answers 20 at the places that it has, and refuses the others."""
    refused = error or DeviceRefused("board refuses: exception 2")
    return lambda place: 20 if has(place) else refused


def at(table: str, register: int) -> Callable[[Place], bool]:
    return lambda place: (place.table, place.register_no) == (table, register)


def test_a_board_that_has_all_is_said_to_be_whole() -> None:
    (seen,) = places_seen(OVEN, lacks(lambda place: True))
    assert seen.good
    assert "can be read" in seen.say


def test_what_is_only_written_is_not_counted_as_read() -> None:
    """A file of four places was told that every one of three can be read."""
    (seen,) = places_seen(OVEN, lacks(lambda place: True))
    assert "output.horn and output.lamp, only written, are not among them." in seen.say


@pytest.mark.parametrize(
    ("there", "says"),
    [
        (at("input", 0), 'try table = "input"'),
        (lambda place: False, "no discrete"),
        (lambda place: place.register_no == 0, "try register = 0"),
    ],
    ids=["another table", "nowhere", "one number lower"],
)
def test_what_is_not_there_is_looked_for_beside(there: Callable[[Place], bool], says: str) -> None:
    assert any(says in one.say and not one.good for one in places_seen(OVEN, lacks(there)))


def test_a_horn_counted_from_one_is_seen_although_nothing_reads_it() -> None:
    (seen,) = places_seen(OVEN, lacks(lambda place: not at("coil", 3)(place)))
    assert "output.lamp" in seen.say
    assert "try register = 2" in seen.say


def test_a_busy_device_is_no_wrong_place() -> None:
    busy = DeviceBusy("board is busy")
    assert {one.kind for one in places_seen(OVEN, lacks(lambda place: False, busy))} == {"busy"}


def test_another_device_that_has_it_is_named() -> None:
    two: Oven = OVEN.model_copy(
        update={"device": {**OVEN.device, "other": ModbusDevice(port="bus", address=2)}}
    )
    read = lacks(lambda place: place.device == "other")
    assert who_has(two, OVEN.output.heater, read, lambda raw: True) == "other"
    assert who_has(two, OVEN.output.heater, read, lambda raw: raw == 1) == ""
    assert any("are their two addresses exchanged" in one.say for one in places_seen(two, read))
