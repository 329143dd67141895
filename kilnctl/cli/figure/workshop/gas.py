"""How much gas dry ice or liquid nitrogen gives, and what that does to the air of a room: figure gas."""

import math
import re
from dataclasses import dataclass
from typing import Literal

from kilnctl.cli.figure.figure_answer import FigureAnswer, show
from kilnctl.cli.figure.inputs import Quantity, mass_kg
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError

Substance = Literal["dry-ice", "nitrogen", "argon"]
MOLAR_M3 = 8.314462 * 293.15 / 101_325.0  # of an ideal gas at 20 degC and one atmosphere, a mole
OXYGEN_PERCENT, LEAST_OXYGEN = 20.9, 19.5
# Carbon dioxide in per cent: a working day, a quarter of an hour, danger to life at once.
ALL_DAY, SHORT, DEADLY = 0.5, 3.0, 4.0
SOURCE = (
    "ideal gas at 20 °C; CO2: 0.5 % a working day, 3 % for 15 min, 4 % danger to life (OSHA, ACGIH, NIOSH); "
    "oxygen: 19.5 % at least (OSHA), all from memory"
)
_SIDE = r"(\d+(?:\.\d+)?)"
_ROOM = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(m3|m³|ft3|ft³)\s*")
_SIDES = re.compile(rf"\s*{_SIDE}\s*x\s*{_SIDE}\s*x\s*{_SIDE}\s*(m|ft)\s*")
_LITRES = re.compile(r"\s*(\d+(?:\.\d+)?)\s*L\s*")
FT3 = 0.028316847


@dataclass(frozen=True, slots=True)
class _Gas:
    words: str
    kg_per_mol: float
    kg_per_litre: float  # boiling liquid; dry ice as a solid block


GASES = {
    "dry-ice": _Gas("dry ice (carbon dioxide)", 0.04401, 1.56),
    "nitrogen": _Gas("liquid nitrogen", 0.028014, 0.807),
    "argon": _Gas("liquid argon", 0.039948, 1.396),
}


def gas(amount: Quantity, substance: Substance, room: Quantity, /, *, as_json: Json = False) -> int:
    """Say how much gas dry ice or liquid nitrogen gives off, and what that does to a room's air.

    Parameters
    ----------
    amount
        How much there is ("5 kg", "10 lb", "3 L").
    substance
        dry-ice, nitrogen or argon.
    room
        The room's volume ("30 m3", "1000 ft3"), or its length, width and height ("4x5x2.5 m").
    as_json
        Print one JSON object.
    """
    kind, room_m3 = GASES[substance], _room_m3(room)
    kg = _kg(amount, kind)
    gas_m3 = kg / kind.kg_per_mol * MOLAR_M3
    share = 100.0 * -math.expm1(-gas_m3 / room_m3)
    oxygen = OXYGEN_PERCENT * (1.0 - share / 100.0)
    rows = [
        ("gives", f"{gas_m3:.2f} m3 ({gas_m3 / FT3:.0f} ft3) of gas"),
        ("in the air", f"{share:.1f} % of it, once all is gas and mixed; low down far more"),
        ("oxygen", f"{oxygen:.1f} % is left, of {OXYGEN_PERCENT:g}"),
        ("verdict", _verdict(substance, share, oxygen)),
        ("at most", _at_most(substance, kind, room_m3)),
    ]
    return show(
        FigureAnswer(
            asked=f"{amount} of {kind.words} in a shut room of {room}:",
            rows=tuple(rows),
            source=SOURCE,
            assumed="nobody opens anything, nothing leaks out; it pours out fast where warm steel goes in",
            data={"gas_m3": gas_m3, "percent": share, "oxygen_percent": oxygen},
            beware=(
                "heavier than the air, or cold, it lies in pits and cellars, and nobody smells it. Outdoors, "
                "or doors wide open; never in a car, never in a sealed vessel, which bursts",
                "feeling dizzy or short of breath: out at once. Somebody lies there: do not go in, call help",
            ),
        ),
        as_json,
    )


def _verdict(substance: str, share: float, oxygen: float) -> str:
    if substance == "dry-ice" and share >= DEADLY:
        return f"DEADLY: {DEADLY:g} % of carbon dioxide is danger to life, long before the oxygen runs short"
    if substance == "dry-ice" and share >= ALL_DAY:
        return f"TOO MUCH to work in: above {ALL_DAY:g} %; {SHORT:g} % is the most for a quarter of an hour"
    if oxygen < LEAST_OXYGEN:
        return f"TOO LITTLE OXYGEN: under {LEAST_OXYGEN:g} %; under 10 % one falls without a warning"
    return "within the limits once mixed; above the vessel it is not"


def _at_most(substance: str, kind: _Gas, room_m3: float) -> str:
    """Return how much may become gas in such a room."""
    limit = ALL_DAY if substance == "dry-ice" else 100.0 * (1.0 - LEAST_OXYGEN / OXYGEN_PERCENT)
    kg = -math.log1p(-limit / 100.0) * room_m3 / MOLAR_M3 * kind.kg_per_mol
    return f"{kg:.2f} kg ({kg / kind.kg_per_litre:.2f} L) in all, if the room stays shut"


def _kg(text: str, kind: _Gas) -> float:
    litres = _LITRES.fullmatch(text)
    return mass_kg(text) if litres is None else mass_kg(f"{float(litres[1]) * kind.kg_per_litre} kg")


def _room_m3(text: str) -> float:
    sides = _SIDES.fullmatch(text)
    if sides is not None:
        volume = float(sides[1]) * float(sides[2]) * float(sides[3])
        text = f"{volume} {'m3' if sides[4] == 'm' else 'ft3'}"
    match = _ROOM.fullmatch(text)
    if match is None or float(match[1]) <= 0.0:
        raise ConfigError(
            f'"{text}" is not the volume of a room; write it like "30 m3", "4x5x2.5 m" or "1000 ft3"'
        )
    return float(match[1]) * (1.0 if match[2].startswith("m") else FT3)
