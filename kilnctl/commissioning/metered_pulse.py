"""What a person's meter has shown in the heater pulse: whether all of the element heats."""

import re
from dataclasses import replace

from kilnctl.commissioning.operator import Later
from kilnctl.commissioning.prompts import until_read
from kilnctl.commissioning.wizard import Result, Shop
from kilnctl.devices.probing.pulse_judgement import judge_power
from kilnctl.errors import UnitError
from kilnctl.units import parse_power_w

METER = 'What did a meter show while it heated ("1150 W", "5.1 A"; Enter if you had none, or volts only)? '
VOLTS = (
    'Of how many volts is the element, or does a meter show at it ("230 V"; Enter where nobody knows, or it '
    "has three phases)? "
)
VOLTAGE = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*V?\s*", re.I)
AMPERES = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*A\s*")


def by_meter(shop: Shop, result: Result) -> Result:
    """Ask what a meter has shown, where no current is measured, and judge a passed pulse by it."""
    if not result.passed or shop.oven.signal.current_a is not None:
        return result
    try:
        drawn_w = _drawn_w(shop)
    except Later:  # what was proved is kept
        drawn_w = None
    if drawn_w is None:
        return result
    draws = judge_power(drawn_w, shop.oven.power_w)
    shop.person.say(f"  {'ok   ' if draws.good else 'WRONG'} {draws.say}")
    return replace(result, passed=draws.good, note=f"{result.note}; {draws.say}", data={"drew, W": drawn_w})


def _drawn_w(shop: Shop) -> float | None:
    """Return the power that a meter has shown; of amperes by the volts, asked for if need be."""
    text = until_read(shop, METER, _readable, needed=False)
    if (amperes := AMPERES.fullmatch(text)) is None:
        return parse_power_w(text) if text.strip() else None
    supply_v = shop.oven.supply_v or until_read(shop, VOLTS, _volts, needed=False)
    return None if supply_v is None else _number(amperes[1]) * supply_v


def _readable(text: str) -> str:
    """Return an answer that can be read as power or current, or that is empty. Raises UnitError."""
    if text.strip() and not AMPERES.fullmatch(text):
        parse_power_w(text)
    return text


def _volts(text: str) -> float | None:
    if not text.strip():
        return None
    if (volts := VOLTAGE.fullmatch(text)) is None:
        raise UnitError('give the volts at the element, like "230 V", or press Enter')
    return _number(volts[1])


def _number(digits: str) -> float:
    return float(digits.replace(",", "."))
