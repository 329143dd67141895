"""How lists count. Common practice, no single source; 40001 for the first holding register: no. 40108 is 006B
in the examples of the Modbus application protocol (V1.1b3, 6.3: register 108 is addressed as 107)."""

import pytest

from kilnctl.cli.oven.oven_file.register_numbers import on_the_wire


@pytest.mark.parametrize(
    ("typed", "from_one", "register", "table"),
    [
        ("40108", False, "107", "holding"),
        ("40108", True, "107", "holding"),
        ("30001", False, "0", "input"),
        ("400011", True, "10", "holding"),
        ("00005", False, "4", "coil"),
        ("10001", True, "0", "discrete"),
        ("10001", False, "10001", ""),
        ("3x0005", False, "4", "input"),  # as sheets print it that name the table by its digit
        ("4x0012", True, "11", "holding"),
        ("4X12", True, "11", "holding"),
        ("1x0008", False, "7", "discrete"),
        ("0x0005", True, "0x0005", ""),  # hexadecimal first: a coil's is typed as 00005
        ("11", False, "11", ""),
        ("11", True, "10", ""),
        ("0x6B", True, "0x6B", ""),
        ("6Bh", False, "0x6B", ""),
        ("40000", False, "40000", ""),
        ("ten", True, "ten", ""),
    ],
)
def test_a_number_of_a_list(typed: str, from_one: bool, register: str, table: str) -> None:
    assert on_the_wire(typed, from_one)[:2] == (register, table)


def test_what_was_made_of_it_is_said() -> None:
    assert on_the_wire("3x0005", False).note == "3x0005 of the list is input 4 on the wire"
    assert on_the_wire("40011", False).note == (
        "40011 of the list is holding 10 on the wire; if the device means number 40011 itself, type 0x9C4B"
    )
