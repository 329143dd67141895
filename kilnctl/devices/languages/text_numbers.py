"""Numbers in a line of text: how one is written, what may stand for one in a reply, and what that means.

A name in braces may have a picture behind a colon, which shows the number as the board writes it: zeros for
digits, `000.0`; blanks for places that may be empty, `   0`; a `+` for a sign that is always there; `XX` or
`xx` for hexadecimal digits, with a `+` for those of a number that may be below zero (two's complement).
"""

import re

_NUMBER = r" {0,8}[+-]?\d{1,9}(?:[POINT]\d{1,12}(?:[eE][+-]?\d{1,2})?)?"
_PLACES = {"0": r"\d", " ": r"[ +\-.,\d]", "+": "[+-]", "X": "[0-9A-Fa-f]", "x": "[0-9A-Fa-f]"}


def number(point: str = ".") -> str:
    """Return the expression of any number, with this decimal point."""
    return _NUMBER.replace("POINT", point)


def expression(picture: str, point: str = ".") -> str:
    """Return the expression of a number in a reply: any number, or as many characters as its picture has."""
    if not picture:
        return number(point)
    hexadecimal = picture.strip("+xX") == ""
    shown = picture.lstrip("+") if hexadecimal else picture
    return "".join(_PLACES.get(one, re.escape(point)) for one in shown)


def digits(raw: float, picture: str = "", point: str = ".") -> str:
    """Return a number as it is sent."""
    if not picture:
        return f"{raw:.10g}".replace(".", point)
    plain = picture.strip("+")
    if plain[0] in "Xx":
        return f"{round(raw) % 16 ** len(plain):0{len(plain)}{plain[0]}}"
    whole, _, decimals = picture.rstrip(" ").partition(".")
    filled = "" if " " in whole else "0"
    sign = "+" if whole.startswith("+") else ""
    text = f"{raw:{sign}{filled}{len(picture.rstrip(' '))}.{len(decimals)}f}"
    return text.ljust(len(picture)).replace(".", point)


def meant(text: str, picture: str = "", point: str = ".") -> float:
    """Return the number that characters of a reply mean. Raises ValueError where they are none."""
    if picture.strip("+xX") or not picture:
        return float(text.strip(" ").replace(point, "."))
    value, span = int(text, 16), 16 ** len(text)
    return float(value - span if picture.startswith("+") and value >= span // 2 else value)
