"""Voltage of a bare thermocouple to temperature, against the NIST ITS-90 tables (emf in mV, reference 0 °C).

The values are those of the NIST tables (three decimals, so half a microvolt of rounding is allowed), read in
a public copy; type B has no inverse below about 250 °C there. E at 1000 and T at 400 °C end their tables and
are printed a little above the exact end: the half microvolt is taken off there.
"""

import pytest

from kilnctl.devices.thermocouples import hot_c

NIST = [
    *[("K", t, e) for t, e in ((-20, -0.778), (25, 1.000), (100, 4.096), (200, 8.138), (400, 16.397))],
    *[("K", t, e) for t, e in ((600, 24.905), (800, 33.275), (830, 34.501), (1000, 41.276), (1200, 48.838))],
    *[("N", t, e) for t, e in ((-20, -0.518), (25, 0.659), (100, 2.774), (200, 5.913), (400, 12.974))],
    *[("N", t, e) for t, e in ((600, 20.613), (800, 28.455), (830, 29.632), (1000, 36.256), (1200, 43.846))],
    *[("S", t, e) for t, e in ((-20, -0.103), (25, 0.143), (100, 0.646), (200, 1.441), (400, 3.259))],
    *[("S", t, e) for t, e in ((600, 5.239), (800, 7.345), (830, 7.673), (1000, 9.587), (1200, 11.951))],
    *[("J", t, e) for t, e in ((200, 10.779), (700, 39.132), (1000, 57.953))],
    *[("E", t, e) for t, e in ((200, 13.421), (700, 53.112), (1000, 76.3725))],
    *[("R", t, e) for t, e in ((200, 1.469), (700, 6.743), (1000, 10.506))],
    *[("B", t, e) for t, e in ((700, 2.431), (1000, 4.834))],
    *[("T", t, e) for t, e in ((200, 9.288), (400, 20.8715))],
]
# 0.5 microvolt of table rounding in kelvin: Seebeck coefficient of each type where it is least here
ROUNDING_K = {"K": 0.02, "N": 0.03, "S": 0.12, "J": 0.02, "E": 0.02, "R": 0.08, "B": 0.1, "T": 0.02}


@pytest.mark.parametrize(("couple", "point_c", "emf_mv"), NIST)
def test_nist_table(couple, point_c, emf_mv):
    assert hot_c(couple, emf_mv, 0.0) == pytest.approx(point_c, abs=ROUNDING_K[couple])


def test_cold_junction_adds_as_a_voltage_not_as_a_temperature():
    """Hot 830, terminals 25 degC: 34.501 - 1.000 mV. Ignoring the junction reads 805.5."""
    assert hot_c("K", 33.501, 25.0) == pytest.approx(830.0, abs=0.05)
    assert hot_c("K", 33.501, 0.0) == pytest.approx(805.5, abs=0.05)


@pytest.mark.parametrize(("believed", "shown_c"), [("N", 954.7), ("J", 623.7)])
def test_wrong_type_chosen(believed, shown_c):
    """A type K couple at 830 degC read as another type (computed from the NIST polynomials)."""
    assert hot_c(believed, 34.501, 0.0) == pytest.approx(shown_c, abs=0.1)


def test_reversed_leads_read_below_ambient():
    """Type K reversed at the instrument, hot 100, terminals 25 degC: reads about -56 degC."""
    assert hot_c("K", -(4.096 - 1.000), 25.0) == pytest.approx(-56, abs=1)


@pytest.mark.parametrize(("couple", "mv"), [("K", 60.0), ("K", -8.0), ("S", 25.0), ("B", 14.0)])
def test_voltages_outside_the_table_mean_nothing(couple, mv):
    assert hot_c(couple, mv, 0.0) is None
