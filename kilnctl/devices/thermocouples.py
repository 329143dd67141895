"""From the voltage of a bare thermocouple to the temperature of its hot junction.

The conversion is that of a kept library, checked in the tests against the NIST ITS-90 tables. The voltage
of the terminals is that of the hot junction less that of the cold one; voltages add, temperatures do not.
"""

from thermocouple_its90 import RangeError, get


def millivolts(couple: str, hot_c: float, junction_c: float) -> float:
    """Return the voltage of a bare thermocouple in mV. Raises ValueError outside its table."""
    try:
        table = get(couple)
        return float(table.emf(hot_c, reference=junction_c))
    except RangeError as e:
        raise ValueError(str(e)) from None


def hot_c(couple: str, measured_mv: float, junction_c: float) -> float | None:
    """Return the hot junction's temperature in degC; None where the table of the couple has no such voltage.

    `couple` is one of the letters B, E, J, K, N, R, S, T. Type B is nearly flat below about 250 degC, where
    NIST gives no inverse and a voltage means nothing.
    """
    try:
        return float(get(couple).temperature(measured_mv, reference=junction_c))
    except (RangeError, ValueError):
        return None


def shown_c(
    wired: str, set_as: str, true_c: float, junction_c: float, compensated: bool = True, swapped: bool = False
) -> float | None:
    """Return what an instrument set for one couple shows of another, degC; None where its table ends.

    Without compensation it takes its terminals for 0 degC; swapped is plus on minus. Raises ValueError
    outside the table of the couple that is wired.
    """
    measured_mv = millivolts(wired, true_c, junction_c)
    return hot_c(set_as, -measured_mv if swapped else measured_mv, junction_c if compensated else 0.0)


def swapped_lead_c(couple: str, true_c: float, head_c: float, junction_c: float) -> float | None:
    """Return what is shown where an extension lead is reversed at both ends, degC; None outside the table.

    The lead's own voltage, head to terminals, counts against instead of for the couple: twice missing.
    """
    lead_mv = millivolts(couple, head_c, junction_c)
    return hot_c(couple, millivolts(couple, true_c, junction_c) - 2.0 * lead_mv, junction_c)


def copper_lead_c(couple: str, true_c: float, head_c: float, junction_c: float) -> float | None:
    """Return what is shown where the lead from head to terminals is copper, degC; None outside the table.

    The couple ends at its head; copper adds no voltage of its own (law of intermediate metals).
    """
    return hot_c(couple, millivolts(couple, true_c, head_c), junction_c)
