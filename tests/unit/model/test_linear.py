"""The closed form of how changes pass on, against differences of the model itself."""

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.model.filter import OvenFilter
from kilnctl.model.linear import NODES
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import OvenModel, OvenState, advance, at_rest
from kilnctl.model.trust import Trust

OVENS = [load_oven(path) for path in sorted(bundled("ovens").glob("*.toml"))]
SPAN_S, AMBIENT_C = 5.0, 20.0


def heated(model: OvenModel, at_c: float) -> OvenState:
    state = at_rest(AMBIENT_C)
    while state.junction_c < at_c:
        state = advance(model, state, 1.0, AMBIENT_C, 5.0)
    return state


def filled(model: OvenModel, state: OvenState, in_element: bool = False) -> OvenFilter:
    trust = Trust(0.2, 0.1, 0.5, in_element=in_element, draught=not in_element)
    seen = OvenFilter(model, trust)
    seen.state, seen.unknown, seen.draught_k = state, 0.05, -3.0 * (not in_element)
    return seen


def central(seen: OvenFilter, heat: float, place: int, by: float) -> list[float]:
    """Return the change of the temperatures per unit of one estimated quantity, by central differences."""
    ends = []
    for sign in (1.0, -1.0):
        values, logs = list(seen.state.nodes if seen.state else ()), [0.0, 0.0, 0.0]
        unknown, cold_k = seen.unknown, seen.draught_k
        if place < NODES:
            values[place] += sign * by
        elif place < NODES + 3:
            logs[place - NODES] += sign * by
        elif seen.trust.draught and place == NODES + 3:
            cold_k += sign * by
        else:
            unknown += sign * by
        model, state = seen._scaled(logs), OvenState(*values)
        ends.append(seen._moved(model, state, heat, AMBIENT_C, SPAN_S, unknown, cold_k))
    return [(a - b) / (2 * by) for a, b in zip(*(end.nodes for end in ends), strict=True)]


@pytest.mark.parametrize("oven", OVENS, ids=lambda oven: oven.name)
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
@pytest.mark.parametrize("heat", [0.0, 1.0])
@pytest.mark.parametrize("in_element", [False, True])
def test_closed_form_and_differences_agree(oven: object, share: float, heat: float, in_element: bool) -> None:
    model = nameplate(oven)  # type: ignore[arg-type]
    at_c = AMBIENT_C + share * (min(oven.limit_c, 900.0) - AMBIENT_C)  # type: ignore[attr-defined]
    seen = filled(model, heated(model, at_c), in_element)
    assert seen.state is not None
    passed = seen._linear(seen.state, heat, AMBIENT_C, SPAN_S)
    for place in range(passed.shape[0]):
        truly = central(seen, heat, place, 0.01)
        # Half a per cent of a unit's effect: the covariance is not known that well.
        near = 5e-3 * max(1.0, *map(abs, truly))
        assert passed[:NODES, place] == pytest.approx(truly, abs=near), place


def test_what_is_not_a_temperature_stays_and_cold_air_fades() -> None:
    model = nameplate(OVENS[0])
    seen = filled(model, heated(model, 100.0))
    assert seen.state is not None
    rest = seen._linear(seen.state, 1.0, AMBIENT_C, 15.0)[NODES:]
    assert rest[:, :NODES].max() == rest[:, :NODES].min() == 0.0
    assert rest[:, NODES:].diagonal() == pytest.approx([1.0, 1.0, 1.0, 0.36788, 1.0], abs=1e-5)
