"""What is left of a meaning in a list of keys still says what the key is: "Modbus" alone says nothing."""

import pytest

from kilnctl.cli.oven.oven_file.templates import half, meaning


@pytest.mark.parametrize(
    ("path", "says"),
    [
        (("device", "p", "together"), "one register"),
        (("output", "heater", "multiple"), "functions 15 and 16"),
        (("output", "heater", "step"), "least difference"),
    ],
)
def test_a_key_is_told_beyond_what_it_is_of(path: tuple[str, ...], says: str) -> None:
    said = half(meaning(path, ""))
    assert says in said
    assert len(said) < 130
