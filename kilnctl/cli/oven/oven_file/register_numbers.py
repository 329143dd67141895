"""How a device's list counts its registers, and which number that is on the wire.

A list may print a table's digit before the number, as 40011, may count from 1, or may be hexadecimal and then
counts from 0 (common practice, no single source). On the wire counting starts at 0.
"""

import re
from typing import NamedTuple

FROM_ONE = "Does its list count from 1, so that its first register is 1, 30001 or 40001?"
_TABLES = {"0": "coil", "1": "discrete", "3": "input", "4": "holding"}
_PRINTED = re.compile(r"([0134])(\d{4}|\d{5})")
_WITH_X = re.compile(r"([134])[xX](\d{1,5})")  # 3x0005; 0x is hexadecimal
_HEXADECIMAL = re.compile(r"(?:0[xX]([0-9A-Fa-f]+)|([0-9A-Fa-f]+)[hH])")


class OnTheWire(NamedTuple):
    """A register as it is asked for: what to write, its table if the list tells that, what to say of it."""

    register: str
    table: str = ""
    note: str = ""


def on_the_wire(typed: str, from_one: bool) -> OnTheWire:
    """Return the register of the wire for a number as a list prints it; what is none comes back as it is."""
    if found := _HEXADECIMAL.fullmatch(typed):
        return OnTheWire(f"0x{found[1] or found[2]}")
    found = _WITH_X.fullmatch(typed)
    if found and int(found[2]):
        return _of_the_list(typed, found)
    found = _PRINTED.fullmatch(typed)
    if found and int(found[2]) and (from_one or found[1] != "1"):
        other = (
            f"; if the device means number {int(typed)} itself, type 0x{int(typed):X}" if not from_one else ""
        )
        made = _of_the_list(typed, found)
        return made._replace(note=made.note + other)
    if from_one and typed.isdecimal() and int(typed):
        return OnTheWire(str(int(typed) - 1), note=f"{typed} of the list is {int(typed) - 1} on the wire")
    return OnTheWire(typed)


def _of_the_list(typed: str, printed: re.Match[str]) -> OnTheWire:
    table, number = _TABLES[printed[1]], int(printed[2]) - 1
    return OnTheWire(str(number), table, f"{typed} of the list is {table} {number} on the wire")
