"""What a corrected estimate of an oven may be: readings that no oven gives lead elsewhere."""

from dataclasses import replace

from kilnctl.model.oven_model import OvenState

# No mass of an oven is ever colder or hotter than this: an estimate that says so has nothing to do with it.
_COLDEST_C, _HOTTEST_C = -250.0, 4000.0


def within(value: float, low: float, high: float) -> float:
    """Return a value kept within its bounds; what is no number stays so.

    Compared by hand: min() and max() of Python 3.11 take ten times as long, and a tick is full of bounds.
    """
    return low if value < low else high if value > high else value


def is_an_ovens(state: OvenState) -> bool:
    """True where every mass has a temperature that an oven can have."""
    nodes = state.nodes
    return min(nodes) > _COLDEST_C and max(nodes) < _HOTTEST_C


def within_physics(before: OvenState, state: OvenState, coldest_c: float) -> OvenState:
    """Return a corrected oven as physics allows it, or as it is where it is no oven's at all.

    What was so before the correction may stay.
    """
    lowest_c, face_c, load_c = min(state.nodes), state.face_c, state.load_c
    if lowest_c < _COLDEST_C:
        return state
    if lowest_c < coldest_c:
        pairs = zip(before.nodes, state.nodes, strict=True)
        state = OvenState(*(max(now, min(was, coldest_c)) for was, now in pairs))
    hottest_c = max(face_c, state.element_c, before.load_c)
    return state if load_c <= hottest_c else replace(state, load_c=hottest_c)
