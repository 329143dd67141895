"""A hardness in the scale of another tester: figure scale."""

import re
from typing import TYPE_CHECKING

from kilnctl.cli.figure.figure_answer import FigureAnswer, say_difference, say_fine, show
from kilnctl.cli.figure.inputs import Quantity, size_mm
from kilnctl.cli.terminal.options import Json, refuse_unused
from kilnctl.units import parse_point_c

if TYPE_CHECKING:
    from kilnctl.treatment.steel.hardness_scales import WrittenHardness

_TEMPERATURE = re.compile(r"\s*-?\d+(?:\.\d+)?\s*°?\s*[CF]\s*", re.IGNORECASE)
PLACES = {"HRA": 1}
HARDEST_HBW = 650.0  # the ball test ends there: ISO 6506-1, ASTM E10
BEYOND = (
    "a ball is not pressed into steel above 650 HBW (ISO 6506-1, ASTM E10): the number in () only converts"
)
ON_ROUNDS = "rounds by ASTM E18, as a tester maker's chart prints them"


def scale(hardness: Quantity, /, *, diameter: Quantity | None = None, as_json: Json = False) -> int:
    """Convert a hardness to the scales of other testers, or a temperature from °F to °C and back.

    Parameters
    ----------
    hardness
        A number with its scale: 60HRC, 700HV, 341HB, 81HRA, 95HRB; or a tensile strength: 1200MPa, 180ksi;
        or a temperature: 1475F, 800C.
    diameter
        It was read on a round of this diameter ("3/8 in"), in HRC or HRA: corrected first.
    as_json
        Print one JSON object.
    """
    from kilnctl.treatment.steel.hardness_scales import SOURCE, in_every_scale, parse_hardness, thinnest_mm

    if _TEMPERATURE.fullmatch(hardness):
        refuse_unused("a temperature is read on no round", diameter=diameter)
        return show(_temperature(hardness), as_json)
    written = parse_hardness(hardness)
    added = (0.0, 0.0) if diameter is None else _on_a_round(written, diameter)
    flat = (written.low + added[0], written.high + added[1])
    ends = [in_every_scale(value, written.scale) for value in flat]
    names = [name for name in ends[0] if name in ends[1] and (name != written.scale or any(added))]
    rows: tuple[tuple[str, str], ...] = tuple(
        (name, _as_tested(name, ends[0][name], ends[1][name])) for name in names
    )
    if "HRC" in ends[0]:
        rows += (
            ("thinnest", _thinnest(thinnest_mm(ends[0]["HRC"]))),
            ("spots", "3 widths apart, 2.5 from an edge (ASTM E18, from memory): 3 mm do in HRC"),
        )
    soft = ("too soft for HRC, which begins at 20: annealed, normalised or never hardened",)
    beyond = any(end.get("HBW", 0.0) > HARDEST_HBW for end in ends)
    rounded = "" if diameter is None else f" on a round of {diameter}"
    return show(
        FigureAnswer(
            asked=f"{written.words}{rounded} is about:",
            rows=rows,
            source=SOURCE if diameter is None else f"{SOURCE}; {ON_ROUNDS}",
            assumed=(
                "the same all through, no soft skin and no case; a conversion is good to about 1 HRC, a "
                "tensile strength to a tenth; a hard edge breaks before its figure"
            ),
            data={
                name.lower(): [end[name] for end in ends]
                for name in ("HRC", "HV", "HBW", "HRA", "HRB", "MPa")
                if name in ends[0] and name in ends[1]
            },
            beware=(() if "HRC" in ends[0] else soft) + ((BEYOND,) if beyond else ()),
        ),
        as_json,
    )


def _temperature(text: str) -> FigureAnswer:
    """Return a temperature in both units, and the same number as a difference."""
    at_c = parse_point_c(text)
    degrees = float(text.strip().rstrip("cCfF°º ").strip())
    step_k = degrees / 1.8 if text.strip()[-1] in "fF" else degrees
    return FigureAnswer(
        asked=f"{text.strip()} is:",
        rows=(
            ("temperature", f"{say_fine(at_c)}, {at_c + 273.15:.1f} K"),
            ("difference", f"{say_difference(step_k)}, if it is a difference: no 32 goes with it"),
        ),
        source="°F = 1.8 °C + 32 (definition)",
        assumed="the first for what an oven shows, the second for a rise, a fall or a tolerance",
        data={"c": at_c, "f": at_c * 1.8 + 32.0, "difference_k": step_k},
    )


def _on_a_round(written: "WrittenHardness", diameter: str) -> tuple[float, float]:
    """Return what is added to both ends of a reading on a round. Raises ProfileError outside the table."""
    from kilnctl.treatment.steel.hardness_on_rounds import round_correction

    low, high = (
        round_correction(read, written.scale, size_mm(diameter)) for read in (written.low, written.high)
    )
    return low, high


def _as_tested(name: str, low: float, high: float) -> str:
    """Return a converted hardness; in parentheses, as E140 prints it, where no ball tests so hard a part."""
    said = _span(low, high, PLACES.get(name, 0))
    if name == "MPa":
        from kilnctl.treatment.steel.hardness_scales import KSI_MPA

        return f"{said} tensile ({low / KSI_MPA:.0f} ksi; ISO 18265, from memory)"
    return f"({said})" if name == "HBW" and high > HARDEST_HBW else said


def _thinnest(mm: float) -> str:
    return f"{mm:.2f} mm ({mm / 25.4:.3f} in) for a tester in HRC (ASTM E18); thinner parts in HRA or HV"


def _span(low: float, high: float, places: int) -> str:
    first, last = f"{low:.{places}f}", f"{high:.{places}f}"
    return first if first == last else f"{first}-{last}"
