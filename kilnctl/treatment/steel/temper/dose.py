"""A temper as a dose: time at different temperatures expressed as time at the goal temperature.

Hollomon and Jaffe 1945: equal hardness at equal T(C + log10 t), t in hours, T in kelvin. Two constants are
kept: the usual C = 20, and 21.3 - 5.8 %C (the published 17.7 - 5.8 %C is for seconds). Measured data favour
15-16 and reject 20, which overstates what a hot spell does; the truth lies in the band between the two.
Unequal steps are added by turning what has been done into time at the present temperature (equal parameter).
"""

import math

from kilnctl.errors import ProfileError
from kilnctl.profile.segments import TEMPERS, Profile, Soak
from kilnctl.treatment.steel.steels import load_steel
from kilnctl.values import value

_KELVIN = 273.15
_HOUR_S = 3600.0
_LONGEST_DOSE_S = 1e6 * _HOUR_S
USUAL_CONSTANT = 20.0
# Pairs of equal hardness measured by Hollomon and Jaffe 1945 (200 to 300 degC) ask for 12 to 16, one for 21;
# all their rows together for 16.
LEAST_CONSTANT, MEASURED_CONSTANT = 12.0, 16.0
_UNKNOWN_CARBON = 0.8


def parameter(at_c: float, time_s: float, constant: float = USUAL_CONSTANT) -> float:
    """Return the Hollomon-Jaffe parameter T(C + log10 t)/1000, T in kelvin, t in hours.

    Raises ProfileError for no time, or a temperature below absolute zero.
    """
    _check(at_c)
    if time_s <= 0.0:
        raise ProfileError(f"a dose needs a time above zero, not {time_s:g} s")
    return (at_c + _KELVIN) * (constant + math.log10(time_s / _HOUR_S)) / 1000.0


def carbon_constant(carbon_percent: float) -> float:
    """Return the constant of the carbon-dependent form for time in hours: 21.3 - 5.8 %C."""
    return 21.3 - 5.8 * carbon_percent


def equal_time_s(at_c: float, time_s: float, other_c: float, constant: float = USUAL_CONSTANT) -> float:
    """Return the time at `other_c` that tempers as much as `time_s` at `at_c`; 0 for no time.

    Raises ProfileError for a negative time, a temperature below absolute zero, or more than a million hours.
    """
    _check(at_c)
    _check(other_c)
    if time_s < 0.0:
        raise ProfileError(f"a dose needs a time of zero or more, not {time_s:g} s")
    found_s = _equal_time_s(at_c, time_s, other_c, constant)
    if found_s > _LONGEST_DOSE_S:
        raise ProfileError(
            f"{time_s / 60:.0f} min at {at_c:.0f} °C is more than any temper at {other_c:.0f} °C: "
            "the two cannot be compared"
        )
    return found_s


def _check(at_c: float) -> None:
    if not at_c > -_KELVIN:
        raise ProfileError(f"{at_c:g} °C is not above absolute zero")


def _equal_time_s(at_c: float, time_s: float, other_c: float, constant: float) -> float:
    if time_s <= 0.0 or other_c == at_c:
        return max(0.0, time_s)
    ratio = (at_c + _KELVIN) / (other_c + _KELVIN)
    exponent = ratio * (constant + math.log10(time_s / _HOUR_S)) - constant
    return float(10.0 ** min(exponent, 12.0)) * _HOUR_S


def equal_temperature_c(
    at_c: float, time_s: float, other_s: float, constant: float = USUAL_CONSTANT
) -> float:
    """Return the temperature at which `other_s` tempers as much as `time_s` at `at_c`.

    Raises ProfileError for no time, or a temperature below absolute zero.
    """
    return 1000.0 * parameter(at_c, time_s, constant) / (constant + math.log10(other_s / _HOUR_S)) - _KELVIN


def constants(carbon_percent: float | None) -> dict[str, float]:
    """Return the constants between which the truth lies, by what speaks for each; the likeliest first."""
    found = {"measured": MEASURED_CONSTANT, "usual": USUAL_CONSTANT, "least": LEAST_CONSTANT}
    return found if carbon_percent is None else {**found, "by carbon": carbon_constant(carbon_percent)}


@value
class Dose:
    """What a temper has done so far, as seconds at the goal temperature under both constants."""

    goal_c: float
    goal_s: float
    constant: float
    equivalent20_s: float = 0.0
    equivalent_c_s: float = 0.0


def start_dose(goal_c: float, goal_s: float, carbon_percent: float) -> Dose:
    """Return an empty dose for a temper of `goal_s` at `goal_c`."""
    return Dose(goal_c, goal_s, carbon_constant(carbon_percent))


def advance_dose(dose: Dose, part_c: float, dt_s: float) -> Dose:
    """Return the dose after `dt_s` with the part at `part_c`. Ramps and overshoot count as they are."""
    goal_c, constant = dose.goal_c, dose.constant
    usual_s = _add(dose.equivalent20_s, goal_c, part_c, dt_s, USUAL_CONSTANT)
    by_carbon_s = _add(dose.equivalent_c_s, goal_c, part_c, dt_s, constant)
    return Dose(goal_c, dose.goal_s, constant, usual_s, by_carbon_s)


def _add(done_s: float, goal_c: float, part_c: float, dt_s: float, constant: float) -> float:
    here_s = _equal_time_s(goal_c, done_s, part_c, constant) + dt_s
    return max(done_s, _equal_time_s(part_c, here_s, goal_c, constant))


def equivalent_s(dose: Dose) -> dict[str, float]:
    """Return the seconds at the goal temperature that both constants count, by the constant's name."""
    return {f"C = {USUAL_CONSTANT:.0f}": dose.equivalent20_s, f"C = {dose.constant:.1f}": dose.equivalent_c_s}


def remaining_s(dose: Dose) -> float:
    """Return the time still to hold at the goal temperature: the longer of the two constants' answers."""
    return max(0.0, dose.goal_s - min(dose.equivalent20_s, dose.equivalent_c_s))


def dose_for(profile: Profile) -> Dose | None:
    """Return an empty dose for the tempers of a profile, all of them together; None where it does not temper.

    The goal is the hottest temper's temperature. Raises ProfileError for a steel without a card.
    """
    tempers = [s for s in profile.segments if isinstance(s, Soak) and s.purpose in TEMPERS]
    if not tempers:
        return None
    return start_dose(max(s.at_c for s in tempers), sum(s.soak_s for s in tempers), carbon_of(profile.steel))


def carbon_of(steel: str | None) -> float:
    """Return the typical carbon content of a grade in per cent, a middling one where no grade is named."""
    return load_steel(steel).carbon if steel else _UNKNOWN_CARBON


def dose_data(dose: Dose, _profile: Profile) -> dict[str, float]:
    """Return the temper's equivalent seconds at the goal temperature for screen and record."""
    return equivalent_s(dose)
