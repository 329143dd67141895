"""Critical points and retained austenite against published formulas' check values and measurements."""

import math

import pytest

from kilnctl.treatment.steel.formulas import (
    after_quench,
    andrews_ac1_c,
    andrews_ac3_c,
    andrews_holds,
    andrews_ms_c,
    composition,
    van_bohemen_ms_c,
)
from kilnctl.treatment.steel.steels import load_steel

ALL = {
    "1080": {"C": 0.80, "Mn": 0.75, "Si": 0.22},
    "1095": {"C": 0.95, "Mn": 0.40, "Si": 0.22},
    "5160": {"C": 0.60, "Mn": 0.87, "Cr": 0.80, "Si": 0.22},
    "52100": {"C": 1.0, "Mn": 0.35, "Cr": 1.45, "Si": 0.25},
}


# Outside: Andrews 1965 as printed in two public collections of steel formulas, kelvin for one per cent. The
# signs of Cr, Cu and P agree with Roberts 1988 (Ae3 = 910 - 25Mn - 11Cr - 20Cu + 60Si + 700P ...).
@pytest.mark.parametrize(
    ("element", "ac1", "ac3", "ms"),
    [
        ("Mn", -10.7, -30.0, -30.4), ("Ni", -16.9, -15.2, -17.7), ("Si", 29.1, 44.7, 0.0),
        ("Cr", 16.9, -11.0, -12.1), ("Mo", 0.0, 31.5, -7.5), ("V", 0.0, 104.0, 0.0), ("W", 6.38, 13.1, 0.0),
        ("Cu", 0.0, -20.0, 0.0), ("As", 290.0, 120.0, 0.0), ("P", 0.0, 700.0, 0.0), ("Al", 0.0, 400.0, 0.0),
        ("Ti", 0.0, 400.0, 0.0),
    ],
)  # fmt: skip
def test_every_term_of_andrews_is_the_printed_one(element: str, ac1: float, ac3: float, ms: float) -> None:
    for formula, expected in ((andrews_ac1_c, ac1), (andrews_ac3_c, ac3), (andrews_ms_c, ms)):
        assert formula({"C": 0.4, element: 0.1}) - formula({"C": 0.4}) == pytest.approx(0.1 * expected)


def test_full_andrews_ac3_of_5160_is_near_thermodynamics() -> None:
    """Outside: 738 degC by an open steel database, 743 by Grange; the short form gives 763."""
    assert andrews_ac3_c(ALL["5160"]) == pytest.approx(738, abs=15)


# Outside: van Bohemen 2012 as listed by Ingber and Kunert 2022 (companion code), kelvin for one per cent.
@pytest.mark.parametrize(
    ("element", "ms"), [("Mn", -31.0), ("Si", -13.0), ("Cr", -10.0), ("Ni", -18.0), ("Mo", -12.0)]
)
def test_every_term_of_van_bohemen_is_the_printed_one(element: str, ms: float) -> None:
    found = van_bohemen_ms_c({"C": 0.8, element: 0.1}) - van_bohemen_ms_c({"C": 0.8})
    assert found == pytest.approx(0.1 * ms)


@pytest.mark.parametrize("carbon", [0.0, 0.4, 0.8, 1.2])
def test_the_carbon_of_van_bohemen_saturates(carbon: float) -> None:
    """Outside: 565 - 600 (1 - exp(-0.96 C)), as listed there."""
    assert van_bohemen_ms_c({"C": carbon}) == pytest.approx(565.0 - 600.0 * (1.0 - math.exp(-0.96 * carbon)))


@pytest.mark.parametrize(("at_c", "measured"), [(815, 0.08), (845, 0.15), (870, 0.18)])
def test_52100_from_heat_to_retained_austenite(at_c: float, measured: float) -> None:
    """Outside: measured after 25 min (thesis on 52100); the chain is 4.4 points high at 815 degC."""
    expected = after_quench(load_steel("52100"), at_c)
    assert expected is not None
    assert expected.retained == pytest.approx(measured, abs=0.046)


def test_52100_rises_with_the_heat() -> None:
    left = [after_quench(load_steel("52100"), t) for t in (790, 815, 845, 870)]
    assert [q.retained for q in left if q] == sorted(q.retained for q in left if q)


def test_measured_ms_of_1080_is_within_the_honest_band() -> None:
    """About 220 degC (from memory, beside the formula's own check values); any Ms is good to 20 K at best."""
    assert van_bohemen_ms_c(composition(load_steel("1080"))) == pytest.approx(220, abs=20)


@pytest.mark.parametrize("grade", ["A2", "D2", "440C", "AEB-L", "14C28N"])
def test_nothing_is_computed_for_high_alloy_steel(grade: str) -> None:
    steel = load_steel(grade)
    assert after_quench(steel, 1000.0) is None
    assert not andrews_holds(steel)


def test_andrews_holds_to_six_tenths_of_carbon() -> None:
    assert andrews_holds(load_steel("5160"))
    assert not any(andrews_holds(load_steel(g)) for g in ("1075", "1084", "1095", "O1", "52100"))
