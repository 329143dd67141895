"""A bench may have more than the example of its way: every signal and output can be asked for."""

import pytest

from kilnctl.cli.oven.oven_file.file_text import written
from kilnctl.cli.oven.oven_file.more_places import like_the_first, others, place_of
from kilnctl.cli.oven.oven_file.templates import WAYS, template
from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads


@pytest.mark.parametrize("number", range(len(WAYS)))
@pytest.mark.parametrize("group", ["signal", "output"])
def test_a_place_that_is_offered_can_stand_in_the_file(number: int, group: str) -> None:
    """At a register of its own, or at a field that the board's language has."""
    for name in others(group, template(WAYS[number])):
        example = template(WAYS[number])
        place = place_of(group, name, example)
        place |= {"register": 900} if "register" in place else {}
        device = example["device"][place["device"]]
        if device.get("kind") == "text":
            device["ask"][0]["reply"] += f" {{{name}}}"
            device["tell"][name] = {"send": "x {value}", "reply": "y"}
        example[group][name] = place
        assert loads(written(example), Oven, ConfigError, "oven")


def test_a_second_sensor_is_asked_for_as_the_first_was_told() -> None:
    """The sheet of an invented module with two equal channels."""
    first = {"device": "m", "table": "input", "register": 10, "format": "int32", "scale": 0.01, "unit": "C"}
    asked = like_the_first({**first, "fault": {"register": 20}}, {"format": "float32"})
    assert asked == first
    assert like_the_first({"device": "m", "field": "t"}, {"field": "second"}) == {"field": "second"}


@pytest.mark.parametrize("number", range(len(WAYS)))
def test_the_sensor_at_the_terminals_of_a_couple_is_asked_for_no_couple(number: int) -> None:
    example = template(WAYS[number])
    example["signal"]["process"]["couple"] = "K"
    assert "couple" not in place_of("signal", "cold_junction", example)
    assert "couple" in place_of("signal", "load", example)
