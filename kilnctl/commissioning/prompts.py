"""Questions of the walk that are asked until the answer can be read."""

from collections.abc import Callable
from typing import TypeVar

from kilnctl.commissioning.operator import Later
from kilnctl.commissioning.wizard import NOTE, Shop
from kilnctl.errors import ConfigError, UnitError
from kilnctl.permits.dead_man_test import Finding
from kilnctl.units import parse_duration_s, parse_point_c

T = TypeVar("T")


def point_c(shop: Shop, question: str) -> float:
    """Ask for a temperature until it can be read, degC."""
    return until_read(shop, question, parse_point_c)


def seconds(shop: Shop, question: str) -> float:
    """Ask for a time until it can be read."""
    return until_read(shop, question, parse_duration_s)


def until_read(shop: Shop, question: str, parse: Callable[[str], T], needed: bool = True) -> T:
    """Ask until the answer can be read; what reads it says what is wrong with it."""
    while True:
        try:
            return parse(shop.person.ask(question, needed))
        except (UnitError, ConfigError) as e:
            shop.person.say(f"  {e}")


def all_yes(shop: Shop, questions: tuple[str, ...]) -> tuple[bool, dict[str, bool]]:
    """Ask each question for one key; the first no ends it."""
    data: dict[str, bool] = {}
    for question in questions:
        data[question] = shop.person.key(question)
        if not data[question]:
            return False, data
    return True, data


def tell_finding(shop: Shop, finding: Finding) -> None:
    """Say what a drill has found, and whether it is as it should be."""
    shop.person.say(f"  {'ok   ' if finding.passed else 'WRONG'} {finding.line}")


def note(shop: Shop) -> str:
    """Ask for a note; it may be empty. Whoever stops here has done the step: what was proved is kept."""
    try:
        return shop.person.ask(NOTE, needed=False)
    except Later:
        return ""
