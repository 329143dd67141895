"""What a rehearsal's simulated part truly got, beside what its readings say: temper, hot minutes, cooling.

The record of a heat can only count what was read. Where a sensor reads falsely the simulated part got
something else, and only the simulator knows what.
"""

from dataclasses import dataclass, field
from typing import Any

from kilnctl.heat.heat_state import HeatState
from kilnctl.profile.segments import Profile, Soak
from kilnctl.treatment.consequence import predicted_hrc
from kilnctl.treatment.outcome import PartSample, outcome
from kilnctl.treatment.steel.steels import Steel
from kilnctl.treatment.steel.temper.dose import Dose, advance_dose, dose_for, equal_temperature_c
from kilnctl.units import say_duration, say_point

HOT_APART_S, HOT_APART = 300.0, 0.2
LEAST_S = 1.0


@dataclass(slots=True)
class TrueTreatment:
    """Follows the true temperature of a part (of its place, where no part is simulated), tick by tick."""

    dose: Dose | None = None
    looks: list[PartSample] = field(default_factory=list)
    _began: bool = False
    _at_s: float = 0.0

    def see(self, now: HeatState, true_c: float) -> None:
        """See one tick."""
        if not self._began:
            self.dose, self._began = dose_for(now.profile), True
        dt_s, self._at_s = now.elapsed_s - self._at_s, now.elapsed_s
        if self.dose is not None and now.current is not None and now.current.tempers and dt_s > 0.0:
            self.dose = advance_dose(self.dose, true_c, dt_s)
        self.looks.append(PartSample(now.elapsed_s, now.cursor.segment, true_c))

    def told(self, profile: Profile, steel: Steel | None, finished: bool) -> dict[str, Any]:
        """Return what the part truly got, as the record says it of what was read."""
        hrc = predicted_hrc(profile, steel, self.dose) if steel is not None and finished else None
        like_c = None if self.dose is None else _like_c(self.dose)
        return {
            **outcome(profile, steel, self.looks).to_dict(),
            "tempered_like_c": None if like_c is None else round(like_c, 1),
            "predicted_hrc": hrc,
        }


def _like_c(dose: Dose) -> float | None:
    """Return the temperature that tempers as much in the planned time; None where nothing was done."""
    if dose.equivalent_c_s < LEAST_S or dose.goal_s <= 0.0:
        return None
    return equal_temperature_c(dose.goal_c, dose.equivalent_c_s, dose.goal_s, dose.constant)


def truly_otherwise(
    read: dict[str, Any], read_dose: Dose | None, true: TrueTreatment, profile: Profile, far_k: float
) -> tuple[str, ...]:
    """Say in which ways the part truly got another treatment than its readings say; empty where in none.

    `read` is the treatment of the record, `far_k` by how much two tempers may differ.
    """
    found = outcome(profile, None, true.looks).to_dict()
    said = [] if read_dose is None or true.dose is None else _temper(read_dose, true.dose, far_k)
    for key, above in (("above_700_s", "700 °C"), ("above_800_s", "800 °C")):
        by_reading_s, truly_s = read.get(key) or 0.0, found[key]
        if abs(truly_s - by_reading_s) > max(HOT_APART_S, HOT_APART * by_reading_s):
            said.append(f"truly {say_duration(truly_s)} above {above}, {say_duration(by_reading_s)} as read")
    return tuple(said)


def _temper(read: Dose, true: Dose, far_k: float) -> list[str]:
    by_reading_c, truly_c = _like_c(read), _like_c(true)
    asked = f"{say_duration(true.goal_s)} at {say_point(true.goal_c)} was asked"
    if by_reading_c is None and truly_c is None:
        return []
    if truly_c is None:
        return [f"truly it was not tempered at all; {asked}"]
    if by_reading_c is not None and abs(truly_c - by_reading_c) <= far_k:
        return []
    return [f"truly tempered as {say_duration(true.goal_s)} at {say_point(truly_c)} would have; {asked}"]


def lowered(profile: Profile) -> bool:
    """True where a temper holds its sensor below the goal: the reading is then not the part's, as planned."""
    return any(isinstance(s, Soak) and s.sensor_c is not None for s in profile.segments)
