"""Decarburised skin against published worked values.

Callister, Materials Science and Engineering: table 5.2 (carbon in gamma iron, 5.9e-12 m2/s at 900 °C, 5.3e-11
at 1100 °C) and example 5.2 (0.25 % C, surface 1.20 %, 0.80 % at 0.5 mm after 7.1 h at 950 °C, D 1.6e-11).
"""

import pytest

from kilnctl.treatment.steel.soft_skin import depth_mm, quick_m2_per_s, skin_mm, slow_m2_per_s


@pytest.mark.parametrize(("at_c", "published"), [(900.0, 5.9e-12), (1100.0, 5.3e-11)])
def test_the_diffusivity_of_the_table(at_c: float, published: float) -> None:
    assert slow_m2_per_s(at_c) == pytest.approx(published, rel=0.02)


def test_the_depth_of_the_worked_example() -> None:
    share = (1.20 - 0.80) / (1.20 - 0.25)
    assert depth_mm(share, 1.6e-11, 25_400.0) == pytest.approx(0.5, rel=0.01)


@pytest.mark.parametrize(("at_c", "hours"), [(900.0, 29.6), (950.0, 15.9), (1000.0, 9.0), (1050.0, 5.3)])
def test_the_times_of_the_design_example(at_c: float, hours: float) -> None:
    """Callister, design example 5.1: 0.20 % C, surface 1.00 %, 0.60 % at 0.75 mm after these times."""
    reached_mm = depth_mm((1.00 - 0.60) / (1.00 - 0.20), slow_m2_per_s(at_c), hours * 3600.0)
    assert reached_mm == pytest.approx(0.75, rel=0.02)


def test_carbon_moves_quicker_in_much_carbon() -> None:
    """Two to three times as quick at 0.8 % C as with little (Wells, Batz and Mehl 1950, from memory)."""
    assert 1.5 < quick_m2_per_s(900.0, 0.8) / slow_m2_per_s(900.0) < 3.5


def test_a_quarter_of_an_hour_costs_about_a_tenth_of_a_millimetre() -> None:
    """Common practice, no single source."""
    low_mm, high_mm = skin_mm(815.0, 900.0, 0.84, 0.9)
    assert 0.05 < low_mm < 0.15 < high_mm < 0.25
