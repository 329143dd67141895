"""What a bar or a plate weighs: figure weight."""

import math
from typing import Literal

from kilnctl.cli.figure.figure_answer import FigureAnswer, show
from kilnctl.cli.figure.inputs import Quantity, at_least, length_mm
from kilnctl.cli.terminal.options import Json
from kilnctl.errors import ConfigError

MOST_PIECES = 1000
KG_PER_LB = 0.45359237
# kg/L: steel EN 1991-1-1 and EN 10058 (7.85), the others from handbooks, from memory.
DENSITY = {
    "steel": 7.85,
    "high alloy": 7.7,
    "stainless": 7.75,
    "aluminium": 2.70,
    "copper": 8.93,
    "brass": 8.5,
}
Metal = Literal["steel", "high alloy", "stainless", "aluminium", "copper", "brass"]
SIDES = {"flat": 3, "square": 2, "round": 2, "hexagon": 2}


def weight(
    *sizes: Quantity,
    shape: Literal["flat", "square", "round", "hexagon"] | None = None,
    metal: Metal = "steel",
    pieces: int = 1,
    price: float | None = None,
    as_json: Json = False,
) -> int:
    """Work out what a bar, plate or round weighs, and what it costs.

    Parameters
    ----------
    sizes
        Of a flat its length, width and thickness ("300x40x6 mm", or one by one); of any other shape its
        length, and its side, diameter or width across the flats.
    shape
        flat, square, round or hexagon; left out, flat for three sizes.
    metal
        What it is of: steel is carbon and low-alloy steel; high alloy is D2, A2 and their like; stainless is
        stainless knife steel.
    pieces
        How many of them.
    price
        Price of a kilogram.
    as_json
        Print one JSON object.
    """
    sizes = _apart(sizes)
    kind = shape or ("flat" if len(sizes) == SIDES["flat"] else None)
    if kind is None:
        raise ConfigError('give length, width and thickness ("300 mm" "40 mm" "6 mm"), or name the --shape')
    if len(sizes) != SIDES[kind]:
        raise ConfigError(
            f"a {kind} has {SIDES[kind]} sizes, not {len(sizes)}: "
            + ("length, width, thickness" if kind == "flat" else "length, and side, diameter or width")
        )
    if not 1 <= pieces <= MOST_PIECES:
        raise ConfigError(f"--pieces must be 1 to {MOST_PIECES}, not {pieces}")
    cm3 = _mm3(kind, [length_mm(size) for size in sizes]) / 1000.0
    one_kg = cm3 * DENSITY[metal] / 1000.0
    all_kg = one_kg * pieces
    rows = [("one", _mass(one_kg))]
    rows += [(f"{pieces} pieces", _mass(all_kg))] if pieces > 1 else []
    rows.append(("volume", f"{cm3:.1f} cm3 ({cm3 / 16.387064:.2f} in3) each"))
    data: dict[str, object] = {"one_kg": one_kg, "all_kg": all_kg, "cm3": cm3}
    if price is not None:
        data["cost"] = all_kg * at_least(price, 0.0, "--price")
        rows.append(("cost", f"{data['cost']:.2f} at {price:g} a kilogram"))
    return show(
        FigureAnswer(
            asked=f"{pieces} x {kind} of {metal}, {' x '.join(sizes)}:",
            rows=tuple(rows),
            source=f"geometry; {DENSITY[metal]:g} kg/L: EN 1991-1-1 for steel, else handbooks, from memory",
            assumed="full section, sharp corners; a blade ground to an edge weighs half to two thirds of it",
            data=data,
        ),
        as_json,
    )


def _apart(sizes: tuple[str, ...]) -> tuple[str, ...]:
    """Return sizes one by one: "300x40x6 mm" is three, each in the last one's unit unless it has its own."""
    if len(sizes) != 1 or "x" not in sizes[0]:
        return sizes
    pieces = [piece.strip() for piece in sizes[0].split("x")]
    unit = pieces[-1].lstrip("0123456789./ -")
    return tuple(piece if piece[-1:].isalpha() else f"{piece} {unit}" for piece in pieces)


def _mm3(kind: str, mm: list[float]) -> float:
    if kind == "flat":
        return math.prod(mm)
    long_mm, wide_mm = mm
    area = {"square": 1.0, "round": math.pi / 4.0, "hexagon": math.sqrt(3.0) / 2.0}[kind]
    return long_mm * area * wide_mm**2


def _mass(kg: float) -> str:
    lb = kg / KG_PER_LB
    metric = f"{kg * 1000.0:.0f} g" if kg < 1.0 else f"{kg:.2f} kg"
    return f"{metric} ({f'{lb * 16.0:.1f} oz' if lb < 1.0 else f'{lb:.2f} lb'})"
