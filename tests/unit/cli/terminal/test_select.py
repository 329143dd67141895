"""Which oven is asked for as each command takes it."""

import pytest

from kilnctl.cli.terminal.select import choose_oven
from kilnctl.errors import ConfigError


@pytest.mark.parametrize(
    ("option", "says"),
    [
        ({}, "say which oven: --oven hardening-furnace | tempering-oven"),
        ({"option": ""}, "say which oven: hardening-furnace | tempering-oven"),
    ],
)
def test_which_oven_is_asked_for_as_the_command_takes_it(option, says, monkeypatch, tmp_path) -> None:
    """`tune` and `commission` take the name alone. Seen to fail: they asked for an option."""
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    with pytest.raises(ConfigError) as caught:
        choose_oven(None, **option)
    assert str(caught.value) == says
