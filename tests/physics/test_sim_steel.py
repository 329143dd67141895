"""The simulator's steel against EN 1993-1-2:2005, 3.4.1.

Source of the numbers: the standard's carbon steel, values worked from its formulas outside this project.
"""

import pytest
from scipy.integrate import quad

from simulator.oven import steel


@pytest.mark.parametrize(
    ("at_c", "expected"),
    [
        (20, 440),
        (100, 488),
        (200, 530),
        (400, 606),
        (600, 760),
        (700, 1008),
        (800, 803),
        (830, 725),
        (950, 650),
    ],
)
def test_heat_capacity_of_the_standard(at_c: float, expected: float) -> None:
    assert steel.heat_capacity(at_c) == pytest.approx(expected, abs=0.7)


def test_heat_capacity_has_its_peak_at_735() -> None:
    assert steel.heat_capacity(735.0) == pytest.approx(5000.0)
    assert max(range(20, 1200), key=steel.heat_capacity) == 735


def test_heat_from_20_to_830() -> None:
    heat = steel.heat_content(830.0) - steel.heat_content(20.0)
    assert heat == pytest.approx(584e3, rel=0.002)


@pytest.mark.parametrize(("low", "high"), [(20, 600), (600, 735), (735, 900), (900, 1200), (-40, 20)])
def test_heat_content_is_the_integral_of_heat_capacity(low: float, high: float) -> None:
    assert steel.heat_content(high) - steel.heat_content(low) == pytest.approx(
        quad(steel.heat_capacity, low, high, limit=200)[0], rel=1e-6
    )


def test_the_inverse_table_gives_the_temperature_back() -> None:
    start = steel.heat_content(steel.LOWEST_C)
    for i, at_c in enumerate(steel.temperatures()[:-1]):
        assert steel.heat_content(at_c) == pytest.approx(start + i * steel.HEAT_STEP, abs=0.01)


@pytest.mark.parametrize(("at_c", "expected"), [(20, 53.3), (400, 40.7), (799, 27.4), (1000, 27.3)])
def test_conductivity_of_the_standard(at_c: float, expected: float) -> None:
    assert steel.conductivity(at_c) == pytest.approx(expected, abs=0.05)
