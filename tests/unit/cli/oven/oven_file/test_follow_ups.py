"""What a maker is asked further; the cases are sheets of invented boards (`tests/foreign/sheets.md`)."""

import pytest

from kilnctl.cli.oven.oven_file.follow_ups import follow_ups, of_the_format


@pytest.mark.parametrize(
    ("path", "key", "made", "asked"),
    [
        (("output", "heater"), "on", {"on": 0}, ["off"]),
        (("output", "heater"), "on", {"on": 1}, []),
        (("output", "heater", "back"), "register", {}, ["inverted"]),
        (("output", "heater", "back"), "register", {"table": "holding"}, ["bit", "inverted"]),
        (("signal", "process", "fault"), "register", {"table": "input"}, ["bit", "inverted"]),
        (("signal", "door_open"), "register", {"table": "holding"}, ["bit", "inverted"]),
        (("dead_man",), "write", {"write": 1}, ["then"]),
        (("dead_man",), "drops_after", {"then": 0}, []),
        (("dead_man",), "drops_after", {}, ["counts_to", "zero_drops", "shown"]),
        (
            ("signal", "process"),
            "unit",
            {"device": "t", "table": "input", "format": "int16"},
            ["open_values", "exponent"],
        ),
        (("signal", "process"), "unit", {"format": "float32"}, ["open_values"]),
        (("signal", "second"), "unit", {"format": "int32"}, ["open_values"]),
        (("signal", "second"), "format", {"format": "int32"}, ["word_order", "scale"]),
        (("signal", "second"), "format", {"format": "float32"}, ["word_order"]),
        (("output", "heater"), "on", {"on": 256}, ["off"]),
        (("output", "heater"), "on", {"on": [4, 100]}, ["off"]),
        (("output", "heater"), "register", {"kind": "switch"}, ["on"]),
        (("output", "heater"), "register", {"kind": "set-point"}, ["format"]),
        (("output", "heater"), "register", {"kind": "duty", "table": "coil"}, []),
        (("signal", "process"), "", {"unit": "C"}, ["resolution", "couple"]),
        (("dead_man",), "then", {"then": 0}, ["shown"]),
        (("dead_man",), "drops_after", {"field": "alive"}, ["shown"]),
        (("signal", "door_open"), "register", {}, ["inverted"]),
        (("port", "rs485"), "baud", {}, ["parity", "stop_bits"]),
        (("port", "rs485"), "", {"baud": 9600}, ["frames", "echoes"]),
        (("port", "lan"), "", {"path": "tcp://10.0.0.2"}, []),
        (("port", "rs485"), "frames", {"frames": "ascii"}, ["data_bits"]),
        (
            ("device", "micro"),
            "line_end",
            {"kind": "text"},
            [
                "answer_end",
                "checksum",
                "open_words",
                "busy_words",
                "echoes",
                "prompt",
                "banner",
                "who",
                "unasked",
            ],
        ),
        (
            ("device", "micro"),
            "checksum",
            {"kind": "text", "checksum": "sum8"},
            ["checksum_mark", "checksum_after"],
        ),
        (("device", "micro"), "banner", {"kind": "text", "banner": "ready"}, ["banner_wait"]),
        (("device", "micro"), "banner", {"kind": "text"}, []),
    ],
)
def test_only_what_can_follow_is_asked(path, key, made, asked) -> None:
    assert [one.key for one in follow_ups(path, key, made, modbus=True)] == asked


def test_a_board_without_registers_is_asked_none_of_theirs() -> None:
    assert follow_ups(("output", "heater"), "register", {}, modbus=False) == []


@pytest.mark.parametrize(
    ("key", "before", "now", "asked"),
    [
        ("scale", "int16", "float32", False),
        ("resolution", "int16", "float64", False),
        ("scale", "float32", "int32", False),
        ("scale", "int16", "int32", True),
        ("low", "int16", "float32", True),
    ],
)
def test_the_scale_of_a_whole_number_is_not_offered_for_a_decimal_one(key, before, now, asked) -> None:
    """Whoever pressed Enter at `scale [0.1]` would read a tenth of the truth."""
    assert of_the_format(key, {"format": before}, {"format": now}) == asked
    assert of_the_format(key, {"format": before}, {})


@pytest.mark.parametrize(
    ("key", "made", "asked"),
    [
        ("checksum_mark", {"checksum": "none"}, False),
        ("checksum_mark", {"checksum": "xor8"}, True),
        ("banner_wait", {}, False),
        ("banner_wait", {"banner": "ready"}, True),
    ],
)
def test_what_goes_with_a_key_that_was_left_out_is_not_asked(
    key: str, made: dict[str, str], asked: bool
) -> None:
    """A board without a checksum was asked for its mark, one without a banner how long its start takes."""
    example = {"checksum": "xor8", "checksum_mark": "*", "banner": "ready", "banner_wait": "2 s"}
    assert of_the_format(key, example, made) is asked


def test_no_number_of_a_broken_sensor_is_offered_that_a_sound_one_could_send() -> None:
    """32767 was offered at thousandths of a degree, where it is 32.8 °C."""
    example = {"format": "int16", "low": "-20 C", "high": "400 C", "open_values": [32767]}
    for made, offered in (
        ({"format": "int32", "scale": 0.001, "low": "-50 C", "high": "1250 C", "unit": "C"}, False),
        ({"format": "int16", "scale": 0.01, "unit": "C"}, False),
        ({"format": "int16", "scale": 0.01, "unit": "F"}, False),
        ({"format": "int16", "scale": 0.1, "unit": "C"}, True),
        ({"format": "int16", "scale": 0.1, "unit": "C", "high": "1250 C"}, True),
    ):
        assert of_the_format("open_values", example, made) is offered


def test_a_rest_after_off_is_asked_for_and_a_long_one_wants_a_longer_window() -> None:
    """A board that rests 2 s and answers REST: nobody was asked."""
    at = ("switching",)
    (rest,) = follow_ups(at, "kind", {"kind": "solid-state"}, modbus=True)
    assert (rest.key, rest.may_miss) == ("min_off", True)
    assert follow_ups(at, "min_off", {"min_off": "2 s"}, modbus=True) == []
    assert [more.key for more in follow_ups(at, "min_off", {"min_off": "20 s"}, modbus=True)] == ["window"]
