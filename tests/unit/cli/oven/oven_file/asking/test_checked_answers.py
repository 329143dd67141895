"""What the finished file would refuse is refused at its question; a register with decimals takes them."""

import pytest

from kilnctl.cli.oven.oven_file.asking.checked_answers import checked, contradiction
from kilnctl.cli.oven.oven_file.other_kinds import arm_like, example_of
from kilnctl.cli.oven.oven_file.templates import WAYS
from kilnctl.config.wiring import Arm, DeadMan, Heater
from kilnctl.errors import ConfigError

EXAMPLE = {**example_of(WAYS[0]), "arm": [arm_like("relays", "modbus", 0)]}
PLACE = {"device": "relays", "table": "holding", "register": 66}


@pytest.mark.parametrize(
    "path", [("arm",), ("identity",), ("dead_man",), ("output", "heater"), ("signal", "process")]
)
@pytest.mark.parametrize(
    ("key", "typed"), [("table", "x"), ("register", 70000), ("format", "int12"), ("bit", 16)]
)
def test_a_word_that_no_file_has_is_refused_at_every_place(path, key, typed) -> None:
    with pytest.raises(ConfigError, match=f"^{'.'.join(path)}.{key}: must be"):
        checked(EXAMPLE, (*path, key), typed, ())


def test_what_cannot_be_in_an_arm_is_said_at_the_arm() -> None:
    made = {"device": "relays", "table": "coil", "register": 66, "write": 100}
    assert "100 does not fit a coil" in contradiction(EXAMPLE, {("arm",): made}, ("arm",))


@pytest.mark.parametrize("path", [("arm", "write"), ("dead_man", "write"), ("output", "heater", "on")])
def test_decimals_go_to_a_decimal_register_and_to_no_other(path) -> None:
    with pytest.raises(ConfigError, match="whole number"):
        checked(EXAMPLE, path, 0.5, ())
    made = {path[:-1]: {**PLACE, "format": "float32"}}
    assert checked(EXAMPLE, path, 0.5, (), made) == 0.5


def test_a_sheet_of_decimal_registers_is_read_as_it_is_printed() -> None:
    """A guard time of 8.0 s in a FLOAT was refused, with a heater of 0.0 to 1.0 in the same table."""
    decimal = {**PLACE, "format": "float32"}
    assert Arm.model_validate({**decimal, "write": 8.0}).write == 8
    assert Arm.model_validate({**decimal, "write": 2.5}).write == 2.5
    assert DeadMan.model_validate({**decimal, "write": 0.5, "then": 1.5, "drops_after": "5 s"}).then == 1.5
    heater = Heater.model_validate({**decimal, "kind": "duty", "on": 0.5, "off": 0.0})
    assert (heater.on, heater.off) == (0.5, 0)


def test_a_whole_number_is_kept_as_one() -> None:
    """What was set up before stays as it was: 8 is not dumped as 8.0, nor 8.0 as another number."""
    for typed in (8, 8.0):
        arm = Arm.model_validate({**PLACE, "write": typed})
        assert '"write":8' in arm.model_dump_json().rstrip("}")
        assert "8.0" not in arm.model_dump_json()


@pytest.mark.parametrize(
    "number", [n for n, way in enumerate(WAYS) if not way.topic.startswith(("text", "line"))]
)
@pytest.mark.parametrize("address", [0, 255])
def test_a_unit_is_judged_by_the_path_that_was_answered_not_by_that_of_the_example(number, address) -> None:
    """255 behind tcp:// was refused in every way but that of the network."""
    example = example_of(WAYS[number])
    port, device = next(iter(example["port"])), next(iter(example["device"]))
    path = ("device", device, "address")
    behind_tcp = {("port", port): {"path": "tcp://127.0.0.1:21440"}}
    assert checked(example, path, address, (), behind_tcp) == address
    on_a_line = {("port", port): {"path": "/dev/ttyUSB0", "baud": 9600}}
    with pytest.raises(ConfigError, match="1 to 247"):
        checked(example, path, address, (), on_a_line)
