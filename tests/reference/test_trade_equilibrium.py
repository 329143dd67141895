"""Critical points on the cards against the Fe-C database that pycalphad ships (Hallstedt 2010 cementite).

The database has no alloying elements, so plain carbon cards must agree within what manganese and silicon do.
"""

import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from kilnctl.treatment.steel.steels import load_steel

PHASES = ["BCC_A2", "FCC_A1", "CEMENTITE_D011"]
CARBON, IRON = 12.011, 55.845
Solve = Callable[[float, list[float]], dict[float, dict[str, float]]]


def mole_fraction(weight_percent: float) -> float:
    return (weight_percent / CARBON) / (weight_percent / CARBON + (100 - weight_percent) / IRON)


def weight_percent(fraction: float) -> float:
    return 100 * fraction * CARBON / (fraction * CARBON + (1 - fraction) * IRON)


@pytest.fixture(scope="module")
def solve() -> Solve:
    """Return a solver: carbon in weight per cent and temperatures to {degC: {phase: its carbon}}."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import pycalphad
        from pycalphad import Database, equilibrium, variables

        place = Path(pycalphad.__file__).parent / "tests" / "databases" / "cfe_broshe.tdb"
        database = Database(str(place))

    def run(carbon: float, temperatures_c: list[float]) -> dict[float, dict[str, float]]:
        conditions = {
            variables.X("C"): mole_fraction(carbon),
            variables.T: [t + 273.15 for t in temperatures_c],
            variables.P: 101325,
            variables.N: 1,
        }
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            found = equilibrium(database, ["FE", "C", "VA"], PHASES, conditions)
        phases = found.Phase.values.reshape(len(temperatures_c), -1)
        carbons = found.X.sel(component="C").values.reshape(len(temperatures_c), -1)
        return {
            t: {p: weight_percent(x) for p, x in zip(row, xs, strict=True) if p}
            for t, row, xs in zip(temperatures_c, phases, carbons, strict=True)
        }

    return run


def gone(solve: Solve, carbon: float, phase: str, near_c: float, step_k: float = 2.0) -> float:
    """Return the temperature at which a phase is gone, to one step, within ten steps."""
    temperatures = list(near_c + step_k * np.arange(-10, 10))
    found = solve(carbon, temperatures)
    assert phase in found[temperatures[0]], "gone before the search begins"
    return min(t for t in temperatures if phase not in found[t])


# Fe-C as two databases give it: ferrite gone, cementite gone.
@pytest.mark.parametrize(
    ("carbon", "phase", "expected_c"),
    [
        (0.60, "BCC_A2", 750.3),
        (0.80, "CEMENTITE_D011", 742.1),
        (0.95, "CEMENTITE_D011", 800.7),
        (1.00, "CEMENTITE_D011", 819.4),
    ],
)
def test_the_diagram_is_the_one_we_know(solve: Solve, carbon: float, phase: str, expected_c: float) -> None:
    assert gone(solve, carbon, phase, expected_c, step_k=0.5) == pytest.approx(expected_c, abs=1.0)


@pytest.mark.parametrize("grade", ["1095", "W1", "1084"])
def test_carbide_of_plain_carbon_cards_is_gone_where_the_diagram_says(solve: Solve, grade: str) -> None:
    steel = load_steel(grade)
    gone_c = steel.point_c("carbide gone")
    assert gone_c is not None
    assert gone(solve, steel.carbon, "CEMENTITE_D011", gone_c[0]) == pytest.approx(gone_c[0], abs=10.0)


@pytest.fixture(scope="module")
def eutectoid_c(solve: Solve) -> float:
    """The same for every carbon content: two phases of a binary alloy meet a third at one temperature."""
    return gone(solve, 0.90, "BCC_A2", 726.5)


@pytest.mark.parametrize("grade", ["1075", "1080", "1084", "1095", "W1", "W2"])
def test_austenite_of_plain_carbon_cards_starts_near_the_eutectoid(eutectoid_c: float, grade: str) -> None:
    steel = load_steel(grade)
    starts = steel.point_c("austenite starts")
    assert starts is not None
    assert starts[0] == pytest.approx(eutectoid_c, abs=12.0)


@pytest.mark.parametrize("grade", ["1080", "1084", "1095", "W1", "W2"])
def test_dissolved_carbon_of_the_cards_is_the_diagrams(solve: Solve, grade: str) -> None:
    steel = load_steel(grade)
    assert steel.dissolved
    diagram = solve(steel.carbon, [row.at_c for row in steel.dissolved])
    for row in steel.dissolved:
        assert row.percent == pytest.approx(diagram[row.at_c]["FCC_A1"], abs=0.04)
