"""What came of the short pulses at the end of a learning heat: full heat, or a heater that starts softly.

The straight heat-up hardly shows it: a few seconds less at each pause look like any other constant. Ten short
pulses lose most of their heat in such a heater, and everything that holds a temperature is short pulses.
"""

from collections.abc import Sequence

import numpy as np

from kilnctl.model.oven_model import OvenModel, advance, at_rest
from kilnctl.model.soft_start import pulses, softened

# Pulses that belong to the test, and how many there are at least.
_SHORT_S, _FEWEST = 8.0, 5
# So long before them the model's own drift is looked at. They must lift the sensor by so much, if they bring
# what they should.
_BEFORE_S, _LEAST_K = 200.0, 2.0
# What they bring must be this sure (standard deviation), and lie below this to be no mistake of the model.
_SURE, _LITTLE = 0.15, 0.75
_LONGEST_S = 30.0


def pulses_begin(heat: Sequence[float], dt_s: float) -> int:
    """Return at which sample the test's pulses begin; the length of the record where there is none."""
    found = len(heat)
    short = 0
    for first, end in reversed(pulses(heat)):
        if (end - first) * dt_s > _SHORT_S:
            break
        found, short = first, short + 1
    return found if short >= _FEWEST else len(heat)


def soft_start_s(
    model: OvenModel, process_c: Sequence[float], heat: Sequence[float], ambient_c: float, dt_s: float
) -> float:
    """Return how long this heater takes to full power; 0 where its pulses bring what they should."""
    came = _came(model, process_c, heat, ambient_c, dt_s)
    if came is None or came > _LITTLE:
        return 0.0
    begins = pulses_begin(heat, dt_s)
    tested = heat[begins:]
    low, high = 0.0, _LONGEST_S
    for _ in range(20):
        middle = (low + high) / 2
        more = sum(softened(tested, dt_s, middle)) > came * sum(tested)
        low, high = (middle, high) if more else (low, middle)
    return low


def _came(
    model: OvenModel, process_c: Sequence[float], heat: Sequence[float], ambient_c: float, dt_s: float
) -> float | None:
    """Return the share of the pulses' heat that came; None without a test, or where it shows nothing.

    Least squares: what the sensor reads beside the model without them is a straight drift and that share of
    what they should lift it by.
    """
    begins = pulses_begin(heat, dt_s)
    if begins == len(heat):
        return None
    looks = max(0, begins - round(_BEFORE_S / dt_s))
    state = at_rest(process_c[0])
    for share in heat[:looks]:
        state = advance(model, state, share, ambient_c, dt_s)
    cold = hot = state
    rows = []
    for i in range(looks, len(heat)):
        rows.append(
            (process_c[i] - cold.junction_c, 1.0, (i - looks) * dt_s, hot.junction_c - cold.junction_c)
        )
        cold = advance(model, cold, 0.0, ambient_c, dt_s)
        hot = advance(model, hot, heat[i], ambient_c, dt_s)
    table = np.array(rows)
    if table[:, 3].max() < _LEAST_K:
        return None
    basis = table[:, 1:]
    shares, *_ = np.linalg.lstsq(basis, table[:, 0], rcond=None)
    left_k = table[:, 0] - basis @ shares
    # What is left keeps its sign for a while: so many readings are worth one.
    worth = len(left_k) * dt_s / 20.0
    spread = np.linalg.inv(basis.T @ basis) * len(left_k) / worth * float((left_k**2).mean())
    return float(shares[2]) if spread[2, 2] < _SURE**2 else None
