"""No line of a page ends between a number and its unit: "peak 149" with "°C" below it."""

import re

UNIT = re.compile(r"(\d) (?=(?:°[CF]|h|min|s|K|mm|kWh|HRC|W|V|%)(?!\w))")
HELD = "\N{NO-BREAK SPACE}"


def with_units_held(text: str) -> str:
    """Return a text with a blank that breaks no line between each number and its unit."""
    return UNIT.sub(rf"\1{HELD}", text)
