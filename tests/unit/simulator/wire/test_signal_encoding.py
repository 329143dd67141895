"""Numbers as registers carry them: word and byte order, whole numbers, and what an open sensor looks like.

815.5 is 444B E000 as IEEE 754 single precision; the four orders are those met in the field.
"""

import pytest

from simulator.wire.register_map import Cell, packed
from simulator.wire.signal_encoding import Wire

ANY = Wire("process")


@pytest.mark.parametrize(
    ("low_word", "low_byte", "expected"),
    [
        (False, False, "444B E000"),
        (True, False, "E000 444B"),
        (False, True, "4B44 00E0"),
        (True, True, "00E0 4B44"),
    ],
)
def test_orders_of_a_float(low_word: bool, low_byte: bool, expected: str) -> None:
    cell = Cell(ANY, "input", 0, "float32", low_word, low_byte)
    assert packed(815.5, cell).hex(" ", 2).upper() == expected


@pytest.mark.parametrize(
    ("form", "raw", "expected"),
    [
        ("int16", -55, "FFC9"),
        ("uint16", 65481, "FFC9"),
        ("int32", -2, "FFFF FFFE"),
        ("uint32", 70000, "0001 1170"),
        ("int16", 8300 * 10, "4438"),  # overflows as a careless firmware does: 83000 - 65536
    ],
)
def test_whole_numbers(form: str, raw: float, expected: str) -> None:
    assert packed(raw, Cell(ANY, "input", 0, form)).hex(" ", 2).upper() == expected
