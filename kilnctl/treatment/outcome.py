"""What a heat made of the part, told from its record: hot minutes, and the honest name of the cooling."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from kilnctl.model.part import inside, part_of
from kilnctl.profile.segments import Cool, Operator, Profile
from kilnctl.treatment.segment_forecast import still_air_curve
from kilnctl.treatment.steel.cooling_names import (
    FROM_C,
    NO_EXPOSURE,
    TO_C,
    Exposure,
    Named,
    expose,
    name_cooling,
    rate_700_500,
)
from kilnctl.treatment.steel.steels import Steel
from kilnctl.units import say_duration

LONGEST_GAP_S = 60.0
ALLOWED_OVER = 1.5  # a part that begins some kelvin above its oven cools a little quicker than the oven
AIR_C = 20.0


@dataclass(frozen=True, slots=True)
class PartSample:
    """One sample of a record: time of the run, segment, and the part's temperature (estimate or sensor)."""

    at_s: float
    segment: int
    part_c: float


@dataclass(frozen=True, slots=True)
class TreatmentOutcome:
    """Exposure of the part; `cooled` is None where it did not cool through 700-500 degC in the oven.

    `outside` names a cooling in air outside by what a part of that thickness does there: nobody measured it.
    """

    exposure: Exposure
    rate_c_per_s: float | None
    cooled: Named | None
    outside: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for the record."""
        found: dict[str, Any] = {
            "above_700_s": self.exposure.above_700_s,
            "above_800_s": self.exposure.above_800_s,
        }
        if self.cooled is not None:
            found |= {"cooling_c_per_s": self.rate_c_per_s, "cooled": self.cooled.name}
            found |= {"warning": self.cooled.warning} if self.cooled.warning else {}
        return found | ({"cooled outside": self.outside} if self.outside else {})


def outcome(profile: Profile, steel: Steel | None, looks: Iterable[PartSample]) -> TreatmentOutcome:
    """Return what a record says of its part; only what happened while the part was in the oven counts.

    A gap of more than a minute between samples counts nothing: nobody saw it.
    """
    exposure, hottest_c = NO_EXPOSURE, -273.15
    began_s: dict[int, float] = {}
    slow: dict[int, tuple[PartSample, PartSample]] = {}
    curve: list[tuple[float, float]] = []
    last_s: float | None = None
    within = [inside(profile, n) for n in range(len(profile.segments) + 1)]
    for look in looks:
        began_s.setdefault(look.segment, look.at_s)
        slow[look.segment] = (slow.get(look.segment, (look, look))[0], look)
        if not within[min(look.segment, len(within) - 1)]:
            curve, last_s = [], None
            continue
        if last_s is not None and 0.0 < look.at_s - last_s <= LONGEST_GAP_S:
            exposure = expose(exposure, look.part_c, look.at_s - last_s)
        curve.append((look.at_s, look.part_c))
        hottest_c, last_s = max(hottest_c, look.part_c), look.at_s
    rate = rate_700_500(curve)
    named = None if rate is None else name_cooling(rate, steel, hottest_c)
    if named is not None:
        named = replace(named, warning="; ".join(filter(None, (_too_quick(profile, slow), named.warning))))
    return TreatmentOutcome(exposure, rate, named, _outside(profile, steel, began_s, hottest_c))


def _too_quick(profile: Profile, ends: Mapping[int, tuple[PartSample, PartSample]]) -> str:
    """Say where the controlled cooling of an anneal was quicker than asked, nothing where it was not.

    `ends` are the first and the last look in each segment.
    """
    for n, (first, last) in ends.items():
        segment = profile.segments[n] if n < len(profile.segments) else None
        if not isinstance(segment, Cool) or segment.purpose != "anneal" or segment.rate_c_per_h is None:
            continue
        rate_c_per_h = (first.part_c - last.part_c) / max(last.at_s - first.at_s, 1.0) * 3600.0
        if rate_c_per_h > ALLOWED_OVER * segment.rate_c_per_h:
            asked = f"{segment.rate_c_per_h:.0f} at most asked for"
            return f"too quick for the anneal: {rate_c_per_h:.0f} °C/h, {asked}"
    return ""


def _outside(profile: Profile, steel: Steel | None, began_s: dict[int, float], hottest_c: float) -> str:
    """Name the last cooling in air outside that a person confirmed, empty where there was none.

    By time: how long the part was out until it was put back. By a thermometer nobody told the run.
    """
    steps = [n for n, s in enumerate(profile.segments) if isinstance(s, Operator) and s.step == "air cool"]
    part, out = part_of(profile), [n for n in steps if n + 1 in began_s]
    if part is None or hottest_c < FROM_C or not out:
        return ""
    curve = still_air_curve(part, hottest_c, AIR_C)
    aways_s = [away_s for n in out if (away_s := _away_s(profile, began_s, n)) is not None]
    if aways_s and min(aways_s) < curve[-1][0]:
        return (
            f"no normalise: put back after {min(aways_s):.0f} s, before {profile.section_mm:g} mm can have "
            f"been below {TO_C:.0f} °C in still air ({curve[-1][0]:.0f} s)"
        )
    named = name_cooling(rate_700_500(curve) or 0.0, steel, hottest_c)
    away = f"; out for {say_duration(min(aways_s))} at least" if aways_s else ""
    return f"{named.name}, in still air{away}; estimated for {profile.section_mm:g} mm, not measured"


def _away_s(profile: Profile, began_s: dict[int, float], out: int) -> float | None:
    """Return how long a part was outside after the air cool `out`, None where it never went back."""
    loads = (n for n, s in enumerate(profile.segments) if isinstance(s, Operator) and s.step == "load")
    back = next((n for n in loads if n > out), None)
    later_s = [] if back is None else [at_s for n, at_s in began_s.items() if n > back]
    return min(later_s) - began_s[out + 1] if later_s else None
