"""Questions of the walk that are asked until the answer can be read."""

import re
from collections.abc import Callable

from kilnctl.commissioning.wizard import NOTE, Shop
from kilnctl.errors import UnitError
from kilnctl.units import parse_duration_s, parse_point_c

LOWEST_M, HIGHEST_M = -400.0, 5500.0


def point_c(shop: Shop, question: str) -> float:
    """Ask for a temperature until it can be read, degC."""
    return _until_read(shop, question, parse_point_c)


def seconds(shop: Shop, question: str) -> float:
    """Ask for a time until it can be read."""
    return _until_read(shop, question, parse_duration_s)


def _until_read(shop: Shop, question: str, parse: Callable[[object], float]) -> float:
    while True:
        try:
            return parse(shop.person.ask(question))
        except UnitError as e:
            shop.person.say(f"  {e}")


def metres(shop: Shop, question: str) -> float:
    """Ask for a height in m until it can be read: -400 to 5500, where people work."""
    while True:
        match = re.fullmatch(r"(-?\d+(?:\.\d+)?)\s*m", shop.person.ask(question).strip())
        if match is not None and LOWEST_M <= float(match[1]) <= HIGHEST_M:
            return float(match[1])
        shop.person.say(f'  write it like "350 m", from {LOWEST_M:.0f} to {HIGHEST_M:.0f} m')


def all_yes(shop: Shop, questions: tuple[str, ...]) -> tuple[bool, dict[str, bool]]:
    """Ask each question for one key; the first no ends it."""
    data: dict[str, bool] = {}
    for question in questions:
        data[question] = shop.person.key(question)
        if not data[question]:
            return False, data
    return True, data


def note(shop: Shop) -> str:
    """Ask for a note; it may be empty."""
    return shop.person.ask(NOTE, needed=False)
