"""The earth of the shell and the insulation of the element, as a competent person has measured them."""

import re

from kilnctl.commissioning.prompts import until_read
from kilnctl.commissioning.wizard import Result, Shop
from kilnctl.errors import UnitError
from kilnctl.permits.setup_steps import SetupStep

# EN 50699 (tests of appliances in use, class I): 0.3 ohm with a lead of up to 5 m, 1 ohm with the longest;
# 0.3 megohm with heating elements. IEC 60335-1 asks 0.1 ohm of a new appliance. Figures from memory.
EARTH_OHM, ELEMENT_MEGOHM = 1.0, 0.3
_NUMBER = re.compile(r"[<>]?\s*(\d+(?:[.,]\d+)?)\s*(k|M|G|mega?|giga?)?\s*(ohms?)?", re.IGNORECASE)
_NAME = re.compile(r"(?:[^\W\d_].*){3,}")
MILLI = 1e-3  # a small m is one, except in "mega"
NO_NAME = ("yes", "none", "not", "nobody")


def earth(shop: Shop, _step: SetupStep) -> Result:
    """Keep what was measured and by whom; what no sound oven measures does not pass."""
    who = until_read(shop, "Who measured (name, licence)? ", named)
    earth_ohm = until_read(shop, 'Earth, from shell and door to the earth pin ("0.1 ohm")? ', ohm)
    megohm_ = until_read(shop, 'Insulation, from the element to the shell ("200 megohm")? ', megohm)
    data = {"earth, ohm": earth_ohm, "insulation, megohm": megohm_}
    said = f"earth {earth_ohm:g} ohm, insulation {megohm_:g} megohm; measured by {who}"
    wrong = []
    if earth_ohm > EARTH_OHM:
        wrong.append(
            f"{earth_ohm:g} ohm is no earth, {EARTH_OHM:g} ohm at most pass: a shell can become live"
        )
    if megohm_ < ELEMENT_MEGOHM:
        wrong.append(
            f"{megohm_:g} megohm: {ELEMENT_MEGOHM:g} megohm at least pass; a damp lining or a broken element"
        )
    for why in wrong:
        shop.person.say(f"  WRONG {why}")
    if wrong:
        return Result(False, note=f"{'; '.join(wrong)}; {said}", data=data)
    return Result(shop.person.key("Within your local rules?"), note=said, data=data)


def named(text: str) -> str:
    """Return a name. Raises UnitError for what is none."""
    if not _NAME.fullmatch(text) or text.strip().lower() in NO_NAME:
        raise UnitError("write the name of the person who has measured; where nobody has, q stops here")
    return text


def ohm(text: str) -> float:
    """Return a resistance in ohm. Raises UnitError."""
    number, times = _read(text, '"0.1 ohm"')
    return number * (MILLI if "m" in text.partition("o")[0] else times or 1.0)


def megohm(text: str) -> float:
    """Return a resistance in megohm; a bare number is one, as the meters show. Raises UnitError."""
    number, times = _read(text, '"200 megohm"')
    return number * (times or (1.0 if "ohm" in text.lower() else 1e6)) / 1e6


def _read(text: str, like: str) -> tuple[float, float | None]:
    """Return the number and its prefix: kilo, mega, giga."""
    found = _NUMBER.fullmatch(text.strip())
    if found is None:
        raise UnitError(f"write what the meter showed, a number like {like}")
    prefix = (found[2] or "").lower()[:1]
    return float(found[1].replace(",", ".")), {"k": 1e3, "m": 1e6, "g": 1e9}.get(prefix)
