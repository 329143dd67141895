"""What a heat made of the part, told from its record: hot minutes, and the honest name of the cooling."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from kilnctl.model.part import inside
from kilnctl.profile.segments import Profile
from kilnctl.treatment.steel.cooling_names import (
    NO_EXPOSURE,
    Exposure,
    Named,
    expose,
    name_cooling,
    rate_700_500,
)
from kilnctl.treatment.steel.steels import Steel

LONGEST_GAP_S = 60.0


@dataclass(frozen=True, slots=True)
class PartSample:
    """One sample of a record: time of the run, segment, and the part's temperature (estimate or sensor)."""

    at_s: float
    segment: int
    part_c: float


@dataclass(frozen=True, slots=True)
class TreatmentOutcome:
    """Exposure of the part; `cooled` is None where it did not cool through 700-500 degC in the oven."""

    exposure: Exposure
    rate_c_per_s: float | None
    cooled: Named | None

    def to_dict(self) -> dict[str, Any]:
        """Return plain data for the record."""
        found: dict[str, Any] = {
            "above_700_s": self.exposure.above_700_s,
            "above_800_s": self.exposure.above_800_s,
        }
        if self.cooled is not None:
            found |= {"cooling_c_per_s": self.rate_c_per_s, "cooled": self.cooled.name}
            found |= {"warning": self.cooled.warning} if self.cooled.warning else {}
        return found


def outcome(profile: Profile, steel: Steel | None, looks: Iterable[PartSample]) -> TreatmentOutcome:
    """Return what a record says of its part; only what happened while the part was in the oven counts.

    A gap of more than a minute between samples counts nothing: nobody saw it.
    """
    exposure, hottest_c = NO_EXPOSURE, -273.15
    curve: list[tuple[float, float]] = []
    last_s: float | None = None
    within = [inside(profile, n) for n in range(len(profile.segments) + 1)]
    for look in looks:
        if not within[min(look.segment, len(within) - 1)]:
            curve, last_s = [], None
            continue
        if last_s is not None and 0.0 < look.at_s - last_s <= LONGEST_GAP_S:
            exposure = expose(exposure, look.part_c, look.at_s - last_s)
        curve.append((look.at_s, look.part_c))
        hottest_c, last_s = max(hottest_c, look.part_c), look.at_s
    rate = rate_700_500(curve)
    return TreatmentOutcome(exposure, rate, None if rate is None else name_cooling(rate, steel, hottest_c))
