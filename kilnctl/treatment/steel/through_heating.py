"""How long a part needs to come within some kelvin of its oven: plate, square or round, any surface.

Good to about a fifth, as emissivity and air movement are typical values.
"""

from kilnctl.errors import ProfileError
from kilnctl.model import part as parts
from kilnctl.model.part import PartModel, Shape, Surface

ESTIMATE = 0.2
_LONGEST_S = 48 * 3600.0


def bar(
    shape: Shape, size_mm: float, surface: Surface, fan: bool, on_hearth: bool, peak_c: float
) -> PartModel:
    """Return the model of a long part. Raises ProfileError for a round that lies on a face."""
    thick_mm = parts.as_slab_mm(size_mm, shape, "one" if on_hearth else "both")
    return parts.slab(thick_mm, surface, "both", fan, peak_c)


def within_s(
    model: PartModel, oven_c: float, within_k: float, part_c: float, rate_c_per_s: float | None = None
) -> float:
    """Return the seconds until the whole part is within `within_k` of an oven that is at `oven_c`.

    With a rate the oven starts with the part and climbs to `oven_c`. Raises ProfileError beyond two days.
    """
    state, elapsed_s = parts.start(model, part_c), 0.0
    step_s = 1.0 if model.layers == 1 else 5.0
    while oven_c - state.core_c > within_k:
        climbed_c = oven_c if rate_c_per_s is None else min(oven_c, part_c + rate_c_per_s * elapsed_s)
        state = parts.advance(model, state, climbed_c, step_s)
        elapsed_s += step_s
        if elapsed_s > _LONGEST_S:
            raise ProfileError(f"it does not come within {within_k:g} K of {oven_c:.0f} C in two days")
    return elapsed_s
