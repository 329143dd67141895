"""A predicted heat as plain numbers, for charts; needs no drawing library."""

from collections.abc import Sequence
from typing import NamedTuple


class ForecastSeries(NamedTuple):
    """A predicted heat for a chart: (time s, low, middle, high degC) and (end s, earliest, latest) a step.

    `basis` says in words what it rests on; a band of no width is not drawn.
    """

    points: Sequence[tuple[float, float, float, float]]
    ends: Sequence[tuple[float, float, float | None]]
    basis: str
