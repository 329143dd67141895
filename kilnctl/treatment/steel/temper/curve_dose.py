"""What a whole curve of temperatures did as a temper: every moment counts, ramps and overshoot too."""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.temper.dose import Dose, advance_dose

Point = tuple[float, float]
_STEP_S = 5.0
_MOST_STEPS = 20_000


def curve_dose_s(curve: Sequence[Point], as_at_c: float, constant: float) -> float:
    """Return what a curve of (seconds, degC), straight between its points, did as seconds at `as_at_c`.

    Raises ProfileError for fewer than two points, or times that do not rise.
    """
    if len(curve) < 2:
        raise ProfileError("a curve needs two points or more")
    if any(later <= earlier for (earlier, _), (later, _) in pairwise(curve)):
        raise ProfileError("the times of a curve must rise from point to point")
    dose = Dose(as_at_c, 0.0, constant)
    for at_c, dt_s in _steps(curve, max(_STEP_S, (curve[-1][0] - curve[0][0]) / _MOST_STEPS)):
        dose = advance_dose(dose, at_c, dt_s)
    return dose.equivalent_c_s


def _steps(curve: Sequence[Point], longest_s: float) -> Iterable[Point]:
    """Yield (degC in the middle, seconds) of short pieces."""
    for (from_s, from_c), (to_s, to_c) in pairwise(curve):
        count = max(1, round((to_s - from_s) / longest_s))
        for n in range(count):
            yield from_c + (to_c - from_c) * (n + 0.5) / count, (to_s - from_s) / count
