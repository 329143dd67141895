"""What is said of a key is said of the table that it stands in."""

import pytest

from kilnctl.cli.oven.oven_file.templates import WAYS, meaning


@pytest.mark.parametrize("way", WAYS)
def test_the_kind_of_a_heater_is_no_kind_of_a_device(way) -> None:
    """Above `kind = "duty"` of a heater stood "# kind: `text`", the word of its device."""
    assert meaning(("output", "heater", "kind"), way.topic).startswith("of the heater: ")
    assert "`modbus` (default)" in meaning(("device", "micro", "kind"), way.topic)
