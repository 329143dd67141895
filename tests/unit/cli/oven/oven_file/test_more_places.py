"""A bench may have more than the example of its way: every signal and output can be asked for."""

import pytest

from kilnctl.cli.oven.oven_file.file_text import written
from kilnctl.cli.oven.oven_file.more_places import others, place_of
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
            device["tell"][name] = {"send": "x", "reply": "y"}
        example[group][name] = place
        assert loads(written(example), Oven, ConfigError, "oven")
