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
AMPERES = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*A\s*")


def by_meter(shop: Shop, result: Result) -> Result:
    """Ask what a meter has shown, where no current is measured, and judge a passed pulse by it."""
    if not result.passed or shop.oven.signal.current_a is not None:
        return result
    try:
        drawn_w = until_read(shop, METER, lambda text: metered_w(text, shop.oven.supply_v), needed=False)
    except Later:  # what was proved is kept
        drawn_w = None
    if drawn_w is None:
        return result
    draws = judge_power(drawn_w, shop.oven.power_w)
    shop.person.say(f"  {'ok   ' if draws.good else 'WRONG'} {draws.say}")
    return replace(result, passed=draws.good, note=f"{result.note}; {draws.say}", data={"drew, W": drawn_w})


def metered_w(text: str, supply_v: float | None) -> float | None:
    """Read the power on a meter, in watt, from current too where the supply is known; None for nothing.

    Raises UnitError.
    """
    if not text.strip():
        return None
    if (amperes := AMPERES.fullmatch(text)) is None:
        return parse_power_w(text)
    if supply_v is None:
        raise UnitError("the oven file does not say the supply: give the power in W")
    return float(amperes[1].replace(",", ".")) * supply_v
