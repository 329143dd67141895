"""One key of a TOML file changed in its text; judged by tomllib and by the lines that stay."""

import tomllib

import pytest

from kilnctl.config.changed_file import typed_key, with_key, with_table, without_table
from kilnctl.errors import ConfigError

TEXT = """# head
name = "x" # mine
switching = { kind = "solid-state" } # relay
port.bus = { path = "/dev/x", baud = 19200 } # p

[device.board]
kind="text"
ask = [
  { send = "S", reply = "a {b}" }, # first
  { send = "T", reply = "a {c}" },
]

[output.heater]
register = 1

# tables out of order, as people write them
[[arm]]
register = 0x0A
write = 1

# lamp at K3
[output.lamp]
register = 4  # K3

[[arm]]
register = 3 # x
write = 2
"""


def stays(before: str, after: str) -> int:
    """Return how many lines are no longer there or new; the others stand in the same order."""
    old, new = before.split("\n"), after.split("\n")
    kept = [line for line in old if line in new]
    assert [line for line in new if line in kept] == kept
    return max(len(old), len(new)) - len(kept)


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("name", "y"),
        ("switching.kind", "contactor"),
        ("port.bus.baud", 9600),
        ("output.lamp.register", 5),
        ("arm.2.register", 7),
        ("arm[1].write", 9),
        ("device.board.ask.2.reply", "q\n{c}"),
        ("output.lamp.bit", 3),
        ("phone", "112"),
        ("port.bus.parity", "even"),
    ],
)
def test_one_line_changes_and_the_comments_stay(typed: str, value: object) -> None:
    key = typed_key(tomllib.loads(TEXT), typed)
    after = with_key(TEXT, key, value)
    data = tomllib.loads(after)
    for part in key:
        data = data[part]
    assert data == value
    assert stays(TEXT, after) == 1
    assert after.count("#") == TEXT.count("#")


def test_a_key_goes_and_comes_back() -> None:
    without = with_key(TEXT, ("output", "lamp", "register"), None)
    assert "register" not in tomllib.loads(without)["output"]["lamp"]
    assert tomllib.loads(with_key(without, ("output", "lamp", "register"), 4)) == tomllib.loads(TEXT)


def test_a_table_goes_as_comments_and_leaves_those_of_the_next() -> None:
    after = without_table(TEXT, ("arm", 0))
    assert tomllib.loads(after)["arm"] == [{"register": 3, "write": 2}]
    assert "# lamp at K3\n[output.lamp]" in after
    assert "# register = 0x0A" in after


def test_a_table_comes_to_the_end() -> None:
    after = with_table(TEXT, ("output", "horn"), "[output.horn]\nregister = 5", {"register": 5})
    assert after.startswith(TEXT.rstrip())
    assert tomllib.loads(after)["output"]["horn"] == {"register": 5}


def test_what_would_change_more_is_left_to_an_editor() -> None:
    with pytest.raises(ConfigError, match="editor"):
        with_table(TEXT, ("output", "lamp"), "[output.lamp]\nregister = 5", {"register": 5})


def test_one_of_several_must_be_named() -> None:
    with pytest.raises(ConfigError, match=r"arm\.1"):
        typed_key(tomllib.loads(TEXT), "arm.write")
