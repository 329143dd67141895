"""One hardness in the scales of other testers: HRC, HV, HBW and HRA, and HRB for soft steel (ASTM E140).

A conversion holds for steel that is hardened, or annealed, all through. ASTM E140-12 states no limits for its
error (6.2) and has it rounded to whole numbers (1.10); 1.5 HRC is common practice, no single source. HV, HBW
and HRA as printed in tester sellers' charts (HV also in an ASTM A370-03a sheet). HRB against HV lies between
two printed charts (DIN 50150, now ISO 18265, and a spring maker's) that are 4 HRB and 5 % in HBW apart.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Literal, get_args

from pydantic import BeforeValidator

from kilnctl.errors import ProfileError
from kilnctl.profile.segments import GoalHrc
from kilnctl.tomlfile import wrong
from kilnctl.treatment.steel.hardness import between

Scale = Literal["HRC", "HV", "HBW", "HRA", "HRB", "MPa"]
SOURCE = "ASTM E140 as printed in tester sellers' charts; HRB between two charts, up to 4 apart"
CONVERSION_HRC = 1.5
KSI_MPA = 6.894757
SOFTEST_HRC, HARDEST_HRC = 20.0, 70.0
_HRC = range(20, 69)
_HV = (
    238, 243, 248, 254, 260, 266, 272, 279, 286, 294, 302, 310, 318, 327, 336, 345, 354, 363, 372, 382, 392,
    402, 412, 423, 434, 446, 458, 471, 484, 498, 513, 528, 544, 560, 577, 595, 613, 633, 653, 674, 697, 720,
    746, 772, 800, 832, 865, 900, 940,
)  # fmt: skip
# With a ball of tungsten carbide; harder than 65 HRC no ball is used.
_HBW = (
    226, 231, 237, 243, 247, 253, 258, 264, 271, 279, 286, 294, 301, 311, 319, 327, 336, 344, 353, 362, 371,
    381, 390, 400, 409, 421, 432, 443, 455, 469, 481, 496, 512, 525, 543, 560, 577, 595, 615, 634, 654, 670,
    688, 705, 722, 739,
)  # fmt: skip
_HRA = (
    60.5, 61.0, 61.5, 62.0, 62.4, 62.8, 63.3, 63.8, 64.3, 64.8, 65.3, 65.8, 66.3, 66.8, 67.4, 67.9, 68.4,
    68.9, 69.4, 69.9, 70.4, 70.9, 71.5, 72.0, 72.5, 73.1, 73.6, 74.1, 74.7, 75.2, 75.9, 76.3, 76.8, 77.4,
    78.0, 78.5, 79.0, 79.6, 80.1, 80.7, 81.2, 81.8, 82.3, 82.8, 83.4, 83.9, 84.5, 85.0, 85.6,
)  # fmt: skip
_COLUMNS: dict[Scale, Sequence[float]] = {"HRC": _HRC, "HV": _HV, "HBW": _HBW, "HRA": _HRA}
# HRB against HV; HBW is the same number there.
_HRB, _SOFT_HV = (60, 65, 70, 75, 80, 85, 90, 95, 98, 100), (107, 116, 125, 137, 150, 165, 185, 210, 228, 240)
# Tensile strength of steel, MPa, against HV (ISO 18265, table A.1, from memory).
_STRENGTH_HV = (100, 150, 200, 250, 300, 350, 400, 450, 500, 550, 600, 650)
_MPA = (320, 480, 640, 800, 965, 1125, 1290, 1455, 1630, 1810, 1995, 2180)
# ASTM E18, Rockwell C: the thinnest part, mm, against the softest it may be.
_THINNEST_HRC = (20, 28, 37, 45, 52, 57, 62, 65, 67, 69)
_THINNEST_MM = (1.02, 0.96, 0.91, 0.86, 0.81, 0.76, 0.71, 0.66, 0.61, 0.56)
_NUMBER = r"(\d+(?:\.\d+)?)(?:\s*-\s*(\d+(?:\.\d+)?))?"
_NAME = r"(HRC|HRA|HRB|HV\d*|HBW?|BHN|MPa|N/mm2|N/mm²|ksi)"
_LEEB = re.compile(r"\bH?L[DGCE]?\b|\d\s*H?L[DGCE]?\b|leeb", re.IGNORECASE)
_WRITTEN = re.compile(rf"\s*(?:{_NUMBER}\s*{_NAME}?|{_NAME}\s*{_NUMBER})\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class WrittenHardness:
    """A hardness as somebody wrote it: one number or a range, in a scale."""

    low: float
    high: float
    scale: Scale

    @property
    def words(self) -> str:
        """Return it as people write it: "650-700 HV"."""
        span = f"{self.low:g}" if self.low == self.high else f"{self.low:g}-{self.high:g}"
        return f"{span} {self.scale}"

    def hrc(self) -> tuple[float, float]:
        """Return it in HRC. Raises ProfileError where the scale has no HRC for it."""
        return to_hrc(self.low, self.scale), to_hrc(self.high, self.scale)


def parse_hardness(text: str) -> WrittenHardness:
    """Read "60", "60-62 HRC", "700 HV10", "HB 341" or "81 HRA". Raises ProfileError for anything else."""
    if _LEEB.search(text):
        raise ProfileError(
            f'"{text.strip()}": a Leeb rebound is not turned into HRC here, no table for it could be looked '
            "up. Set the tester to HRC and name its test block; on a thin or light part it reads too low "
            "(common practice)"
        )
    match = _WRITTEN.fullmatch(text)
    if match is None:
        raise ProfileError(
            f'"{text}" is not a hardness; write it like 60 or 60-62 (HRC), 700HV, 341HB, 81HRA, 95HRB, '
            "or a tensile strength like 1200MPa"
        )
    low, high, after, before, first, second = match.groups()
    scale = _scale(after or before or "HRC")
    times = KSI_MPA if (after or before or "").lower() == "ksi" else 1.0
    found = WrittenHardness(float(low or first) * times, float(high or second or low or first) * times, scale)
    if found.low > found.high:
        raise ProfileError(f'"{text}": write the softer end first, like 60-62')
    if scale == "HRC" and not SOFTEST_HRC <= found.low <= found.high <= HARDEST_HRC:
        raise ProfileError(
            f'"{text}" is not a hardness in HRC (20 to 70); in another scale name it: 700HV, 341HB, 81HRA'
        )
    return found


def _scale(name: str) -> Scale:
    upper = name.upper()
    if upper in ("HB", "BHN"):
        return "HBW"
    if upper in ("MPA", "N/MM2", "N/MM²", "KSI"):
        return "MPa"
    return next(scale for scale in get_args(Scale) if upper.startswith(scale))


def _in_hrc(value: object) -> object:
    """Turn a hardness that is written as text into (low, high) in HRC, to a tenth."""
    if not isinstance(value, str):
        return value
    try:
        low, high = parse_hardness(value).hrc()
    except ProfileError as e:
        raise wrong("goal", str(e)) from None
    return round(low, 1), round(high, 1)


# What a recipe wants: [60, 62] or 60 in HRC, or text with its scale, "700 HV".
WantedHrc = Annotated[GoalHrc, BeforeValidator(_in_hrc)]


def to_hrc(value: float, scale: Scale) -> float:
    """Return a hardness in HRC. Raises ProfileError outside the table, and for HRB, which is too soft."""
    if scale == "HRC":
        return value
    if scale == "HRB":
        raise ProfileError(
            f"{value:g} HRB is softer than 20 HRC: no hardened steel; about {_soft(value):.0f} HV"
        )
    if scale == "MPa":
        return to_hrc(_hv_of_mpa(value), "HV")
    column = _COLUMNS[scale]
    if not column[0] <= value <= column[-1]:
        raise ProfileError(
            f"{value:g} {scale} lies outside the conversion table ({column[0]:g}-{column[-1]:g} {scale}, "
            f"20-{_HRC[len(column) - 1]} HRC)"
        )
    return between(value, column, _HRC[: len(column)])


def _soft(hrb: float) -> float:
    """Return the HV of an HRB. Raises ProfileError outside 60 to 100 HRB."""
    if not _HRB[0] <= hrb <= _HRB[-1]:
        raise ProfileError(f"{hrb:g} HRB lies outside the conversion table ({_HRB[0]}-{_HRB[-1]} HRB)")
    return between(hrb, _HRB, _SOFT_HV)


def _hv_of_mpa(mpa: float) -> float:
    """Return the HV of a tensile strength in MPa. Raises ProfileError outside the table."""
    if not _MPA[0] <= mpa <= _MPA[-1]:
        raise ProfileError(
            f"{mpa:.0f} MPa lies outside the conversion table ({_MPA[0]}-{_MPA[-1]} MPa): harder steel is "
            "tested by its hardness"
        )
    return between(mpa, _MPA, _STRENGTH_HV)


def _with_strength(scales: "dict[Scale, float]") -> "dict[Scale, float]":
    """Return a hardness in every scale with the tensile strength that goes with its HV, where one does."""
    hv = scales["HV"]
    return {**scales, "MPa": between(hv, _STRENGTH_HV, _MPA)} if hv <= _STRENGTH_HV[-1] else scales


def thinnest_mm(hrc: float) -> float:
    """Return how thin a part may be for a test on the C scale, mm (ASTM E18); thinner, it tests the anvil."""
    return between(hrc, _THINNEST_HRC, _THINNEST_MM)


def in_every_scale(value: float, scale: Scale) -> dict[Scale, float]:
    """Return one hardness in every scale that reaches it. Raises ProfileError outside the tables."""
    if scale == "HRB":
        return _with_strength({"HRB": value, "HV": _soft(value), "HBW": _soft(value)})
    if scale == "MPa":
        return in_every_scale(_hv_of_mpa(value), "HV")
    if scale in ("HV", "HBW") and _SOFT_HV[0] <= value < _COLUMNS[scale][0]:
        return _with_strength({"HRB": between(value, _SOFT_HV, _HRB), "HV": value, "HBW": value})
    hrc = to_hrc(value, scale)
    if not _HRC[0] <= hrc <= _HRC[-1]:
        raise ProfileError(f"{hrc:g} HRC lies outside the conversion table ({_HRC[0]}-{_HRC[-1]} HRC)")
    return _with_strength(
        {
            name: between(hrc, _HRC[: len(column)], column)
            for name, column in _COLUMNS.items()
            if hrc <= _HRC[len(column) - 1]
        }
    )
