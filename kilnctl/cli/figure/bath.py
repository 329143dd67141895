"""How hot the bath gets, oil or water: figure bath."""

import re
from collections.abc import Sequence

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_difference, say_fine, show
from kilnctl.cli.figure.inputs import Quantity, heat_c, mass_kg
from kilnctl.cli.terminal.options import Json, refuse_unused
from kilnctl.errors import ConfigError
from kilnctl.units import say_point

OIL_KG_PER_L, WATER_KG_PER_L = 0.87, 1.0
LITRES = {"L": 1.0, "l": 1.0, "gal": 3.785411784, "qt": 0.946352946}
MOST_PARTS = 200
USUAL_L_PER_KG = 10.0  # as `small_bath` says (common practice)
ASK_FLASH = 'the oil\'s flash point stands in its data sheet: --flash "180 C"'
_VOLUME = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(L|l|gal|qt)\s*")
_BALANCE = "heat balance; heat content of carbon steel EN 1993-1-2:2005, 3.4.1.2"


def bath(
    part: Quantity,
    temperature: Quantity,
    /,
    *,
    oil: Quantity | None = None,
    water: Quantity | None = None,
    start: Quantity,
    flash: Quantity | None = None,
    highest: Quantity | None = None,
    parts: int = 1,
    as_json: Json = False,
) -> int:
    """Work out how hot a bath of oil or water gets after each part, or how much oil the parts need.

    Parameters
    ----------
    part
        Mass of one part ("0.3 kg").
    temperature
        Its temperature at the quench.
    oil
        How much oil ("10 kg", "12 L", "3 gal"); with no bath named, how much is needed is worked out.
    water
        How much water or brine, in place of oil.
    start
        The bath's temperature before.
    flash
        The oil's flash point, from its data sheet: without it nothing is said of fire.
    highest
        The highest bath temperature of the data sheet, where it says one.
    parts
        How many parts, one after the other.
    as_json
        Print one JSON object.
    """
    if not 1 <= parts <= MOST_PARTS:
        raise ConfigError(f"--parts must be 1 to {MOST_PARTS}, not {parts}")
    if oil is not None and water is not None:
        raise ConfigError('say what the bath is: --oil "10 L" or --water "20 L"')
    start_c, hot_c = heat_c(start), heat_c(temperature)
    asked = f"{parts} x {part} at {say_point(hot_c)} into"
    if water is not None:
        refuse_unused("water has no flash point", flash=flash, highest=highest)
        return show(_water(asked, _kg(water, WATER_KG_PER_L), start_c, mass_kg(part), hot_c, parts), as_json)
    flash_c, highest_c = (None if text is None else heat_c(text) for text in (flash, highest))
    if oil is None:
        return show(_needed(asked, start_c, (flash_c, highest_c), mass_kg(part) * parts, hot_c), as_json)
    if flash_c is None:
        return show(
            _unjudged(asked, (_kg(oil, OIL_KG_PER_L), start_c, highest_c), mass_kg(part), hot_c, parts),
            as_json,
        )
    tank = (_kg(oil, OIL_KG_PER_L), start_c, flash_c, highest_c)
    return show(_oil(asked, tank, mass_kg(part), hot_c, parts), as_json)


def _needed(
    asked: str, start_c: float, limits_c: tuple[float | None, float | None], load_kg: float, hot_c: float
) -> FigureAnswer:
    """Return how much oil ends no hotter than its limits, and no hotter than most oils are made for."""
    from kilnctl.treatment.steel.quenching import (
        BAND_TOP_C,
        FLASH_MARGIN_K,
        OIL_J_PER_KG_K,
        bath_kg_for,
        oil_beware,
    )

    flash_c, highest_c = limits_c
    end_c = min(c for c in (highest_c or BAND_TOP_C, flash_c and flash_c - FLASH_MARGIN_K) if c)
    _colder(start_c, end_c, hot_c)
    litres = bath_kg_for(start_c, end_c, load_kg, hot_c, OIL_J_PER_KG_K) / OIL_KG_PER_L
    usual = USUAL_L_PER_KG * load_kg
    whose = "the top of the band of most quench oils" if highest_c is None else "the data sheet"
    return FigureAnswer(
        asked=f"{asked} oil at {say_point(start_c)}, how much of it?",
        rows=(
            ("at least", f"{_litres(litres)}, to end no hotter than {say_point(end_c)}, {whose}"),
            ("usual", f"{_litres(usual)}: about 10 L for each kg of steel, a gallon for a pound"),
        ),
        source=f"{_BALANCE}; the usual amount is common practice",
        assumed=f"oil {OIL_J_PER_KG_K / 1000:g} kJ/(kg K), {OIL_KG_PER_L:g} kg/L, stirred, nothing lost",
        data={"at_least_l": litres, "usual_l": usual, "end_c": end_c},
        beware=tuple(
            text for text in (oil_beware(start_c), "take the larger, and room for the part") if text
        ),
    )


def _unjudged(
    asked: str, tank: tuple[float, float, float | None], part_kg: float, hot_c: float, parts: int
) -> FigureAnswer:
    """Return how hot an oil gets whose flash point nobody has named: nothing is said of fire."""
    from kilnctl.treatment.steel.quenching import BAND_TOP_C, OIL_J_PER_KG_K, Bath, bath_after_each_c

    oil_kg, start_c, highest_c = tank
    _colder(start_c, hot_c, hot_c)
    after_c = bath_after_each_c(Bath(oil_kg, start_c, hot_c), part_kg, hot_c, parts)
    band_c = highest_c or BAND_TOP_C
    over = next((n for n, at_c in enumerate(after_c, 1) if at_c > band_c), None)
    limit = f"{say_point(band_c)}: " + (
        "the data sheet" if highest_c else "the band of most quench oils ends"
    )
    fine = f"within that; FIRE NOT JUDGED: {ASK_FLASH}"
    rows = _rows(after_c, limit, over, fine=fine)
    return FigureAnswer(
        asked=f"{asked} {oil_kg:.1f} kg of oil at {say_point(start_c)}:",
        rows=rows,
        source=_BALANCE,
        assumed=f"oil {OIL_J_PER_KG_K / 1000:g} kJ/(kg K), {OIL_KG_PER_L:g} kg/L, stirred, nothing lost",
        data={**_data(after_c, band_c, over), "oil_kg": oil_kg},
        beware=() if over is None else (f"fire is not judged: {ASK_FLASH}",),
    )


def _litres(litres: float) -> str:
    return f"{litres:.1f} L ({litres / LITRES['gal']:.1f} US gal)"


def _oil(
    asked: str, tank: tuple[float, float, float, float | None], part_kg: float, hot_c: float, parts: int
) -> FigureAnswer:
    from kilnctl.treatment.steel.quenching import (
        FLASH_MARGIN_K,
        OIL_J_PER_KG_K,
        Bath,
        band_words,
        bath_after_each_c,
        oil_beware,
        past_band,
        small_bath,
        too_many,
    )

    oil = Bath(*tank)
    _colder(oil.start_c, oil.limit_c, hot_c)
    after_c = bath_after_each_c(oil, part_kg, hot_c, parts)
    limit = f"{say_point(oil.limit_c)}: {FLASH_MARGIN_K:.0f} K under the flash point, or the data sheet"
    over, warm = too_many(oil, after_c), past_band(oil, after_c)
    fine = "within the limit" if warm is None else f"within the limit of fire; but {band_words(warm)}"
    beware = (oil_beware(oil.start_c), small_bath(oil.start_c, after_c[0]))
    margin_k = oil.flash_c - after_c[-1]
    rows = _rows(after_c, limit, over, fine=fine)
    return FigureAnswer(
        asked=f"{asked} {oil.oil_kg:.1f} kg of oil at {say_point(oil.start_c)}:",
        rows=(*rows[:-1], ("margin", _say_margin(margin_k, oil.flash_c)), rows[-1]),
        source=_BALANCE,
        assumed=(
            f"oil {OIL_J_PER_KG_K / 1000:g} kJ/(kg K), {OIL_KG_PER_L:g} kg/L, stirred, nothing lost; "
            "keep a metal lid and the right extinguisher at hand, never water"
        ),
        data={
            **_data(after_c, oil.limit_c, over),
            "first_past_band": warm,
            "oil_kg": oil.oil_kg,
            "margin_k": margin_k,
        },
        beware=tuple(text for text in beware if text),
    )


def _say_margin(margin_k: float, flash_c: float) -> str:
    """Return how far the warmest oil stays under its flash point, and how much of that has to be left."""
    from kilnctl.treatment.steel.quenching import FLASH_MARGIN_K, FLASH_MARGIN_SOURCE

    flash, wanted = (
        say_point(flash_c),
        f"{FLASH_MARGIN_K:.0f} K ({FLASH_MARGIN_K * 1.8:.0f} °F) or more ({FLASH_MARGIN_SOURCE})",
    )
    if margin_k <= 0.0:
        return f"NONE: {say_difference(-margin_k)} over the flash point of {flash}, IT CAN CATCH FIRE"
    enough = "" if margin_k >= FLASH_MARGIN_K else "TOO LITTLE, "
    return f"{enough}{say_difference(margin_k)} under the flash point of {flash}; leave {wanted}"


def _water(
    asked: str, water_kg: float, start_c: float, part_kg: float, hot_c: float, parts: int
) -> FigureAnswer:
    from kilnctl.treatment.steel.quenching import WARMEST_WATER_C, WATER_J_PER_KG_K, water_after_each_c

    _colder(start_c, WARMEST_WATER_C, hot_c)
    after_c = water_after_each_c(water_kg, start_c, part_kg, hot_c, parts)
    over = next((n for n, at_c in enumerate(after_c, 1) if at_c > WARMEST_WATER_C), None)
    limit = f"{say_point(WARMEST_WATER_C)}: warmer water steams, and leaves soft spots (common practice)"
    return FigureAnswer(
        asked=f"{asked} {water_kg:.1f} kg of water at {say_point(start_c)}:",
        rows=_rows(after_c, limit, over, "water"),
        source=_BALANCE,
        assumed=f"water {WATER_J_PER_KG_K / 1000:g} kJ/(kg K), stirred, no steam lost; it spits: face shield",
        data={**_data(after_c, WARMEST_WATER_C, over), "water_kg": water_kg},
        beware=("water or brine can crack the part: only for a grade whose card has it",),
    )


def _colder(start_c: float, limit_c: float, hot_c: float) -> None:
    if not start_c < min(limit_c, hot_c):
        raise ConfigError(
            f"the bath at {start_c:.0f} C must be colder than the part and than its limit of {limit_c:.0f} C"
        )


def _data(after_c: Sequence[float], limit_c: float, over: int | None) -> dict[str, object]:
    return {"after_each_c": list(after_c), "limit_c": limit_c, "first_too_many": over}


def _rows(
    after_c: Sequence[float], limit: str, over: int | None, what: str = "oil", fine: str = "within the limit"
) -> tuple[tuple[str, str], ...]:
    """Return the lines of the answer; `over` is the first part that is too many, `fine` is said of none."""
    verdict = fine if over is None else f"part {over} is TOO MANY: let the {what} cool first"
    return (
        ("after the first", say_fine(after_c[0])),
        (f"after {len(after_c)} part{'s' if len(after_c) > 1 else ''}", say_fine(after_c[-1])),
        ("limit", limit),
        ("verdict", verdict),
    )


def _kg(text: str, kg_per_l: float) -> float:
    match = _VOLUME.fullmatch(text)
    if match is None:
        return mass_kg(text)
    litres = float(match[1]) * LITRES[match[2]]
    if litres <= 0.0:
        raise ConfigError(f'"{text}" is not a bath')
    return litres * kg_per_l
