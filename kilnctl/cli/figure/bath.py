"""How hot the oil gets: figure bath."""

import re
from collections.abc import Sequence

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_fine, show
from kilnctl.cli.figure.inputs import Quantity, heat_c, mass_kg
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError
from kilnctl.units import say_point

OIL_KG_PER_L = 0.87
LITRES = {"L": 1.0, "l": 1.0, "gal": 3.785411784}
MOST_PARTS = 200
_VOLUME = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(L|l|gal)\s*")


def bath(
    part: Quantity,
    temperature: Quantity,
    /,
    *,
    oil: str,
    start: str,
    flash: str,
    highest: str | None = None,
    parts: int = 1,
    as_json: Json = False,
) -> int:
    """Say how hot an oil bath is after each part, and how many it takes.

    Parameters
    ----------
    part
        Mass of one part ("0.3 kg").
    temperature
        Its temperature at the quench.
    oil
        How much oil ("10 kg", "12 L", "3 gal").
    start
        The oil's temperature before.
    flash
        Its flash point, from the data sheet.
    highest
        The highest bath temperature of the data sheet, where it says one.
    parts
        How many parts, one after the other.
    as_json
        Print one JSON object.
    """
    from kilnctl.treatment.steel.quenching import OIL_J_PER_KG_K, Bath, bath_after_each_c, too_many

    if not 1 <= parts <= MOST_PARTS:
        raise ConfigError(f"--parts must be 1 to {MOST_PARTS}, not {parts}")
    oil_kg, hot_c = _oil_kg(oil), heat_c(temperature)
    tank = Bath(oil_kg, heat_c(start), heat_c(flash), None if highest is None else heat_c(highest))
    if not tank.start_c < min(tank.limit_c, hot_c):
        raise ConfigError(
            f"the oil at {tank.start_c:.0f} C must be colder than the part and "
            f"than its limit of {tank.limit_c:.0f} C"
        )
    after_c = bath_after_each_c(tank, mass_kg(part), hot_c, parts)
    over = too_many(tank, after_c)
    return show(
        FigureAnswer(
            asked=(
                f"{parts} x {part} at {say_point(hot_c)} into {oil_kg:.1f} kg of oil "
                f"at {say_point(tank.start_c)}:"
            ),
            rows=_rows(after_c, tank.limit_c, over),
            source="heat balance; heat content of carbon steel EN 1993-1-2:2005, 3.4.1.2",
            assumed=(
                f"oil {OIL_J_PER_KG_K / 1000:g} kJ/(kg K), {OIL_KG_PER_L:g} kg/L, stirred, nothing lost; "
                "keep a metal lid and the right extinguisher at hand, never water"
            ),
            data={
                "after_each_c": list(after_c),
                "limit_c": tank.limit_c,
                "first_too_many": over,
                "oil_kg": oil_kg,
            },
        ),
        as_json,
    )


def _rows(after_c: Sequence[float], limit_c: float, over: int | None) -> tuple[tuple[str, str], ...]:
    """Return the lines of the answer; `over` is the first part that is too many."""
    from kilnctl.treatment.steel.quenching import FLASH_MARGIN_K

    fine = "within the limit" if over is None else f"part {over} is TOO MANY: let the oil cool first"
    return (
        ("after the first", say_fine(after_c[0])),
        (f"after {len(after_c)} part{'s' if len(after_c) > 1 else ''}", say_fine(after_c[-1])),
        ("limit", f"{say_point(limit_c)}: {FLASH_MARGIN_K:.0f} K under the flash point, or the data sheet"),
        ("verdict", fine),
    )


def _oil_kg(text: str) -> float:
    match = _VOLUME.fullmatch(text)
    if match is None:
        return mass_kg(text)
    litres = float(match[1]) * LITRES[match[2]]
    if litres <= 0.0:
        raise ConfigError(f'"{text}" is not an oil')
    return litres * OIL_KG_PER_L
