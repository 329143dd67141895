"""Whether the heat is on: by its own register, or by its read-back; unknown where neither can be read."""

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.devices.probing.outputs_seen import heat_seen, output_seen
from kilnctl.errors import NoReply

OVEN = load_oven(bundled("ovens") / "hardening-furnace.toml")


@pytest.mark.parametrize(("raw", "on"), [(0, False), (1, True), (NoReply("board does not answer"), None)])
def test_an_output_is_as_its_register_reads_and_unknown_where_it_cannot_be_read(raw, on):
    assert output_seen(OVEN.output.heater, lambda place: raw) is on


def test_the_heat_is_asked_at_the_heaters_own_place_where_nothing_stands_between():
    asked = []

    def read(place):
        asked.append(place)
        return 1

    assert heat_seen(OVEN, read) is True
    assert asked == [OVEN.output.heater.back or OVEN.output.heater]
