"""A Rockwell test on a round: the diamond sinks deeper into a convex face, and the reading is too soft.

Corrections to add to readings with the diamond (scales C and A) on cylinders, ASTM E18, as a tester maker's
chart prints them; between rows and columns by straight lines. They hold on the crest of a true cylinder.
"""

from kilnctl.errors import ProfileError
from kilnctl.treatment.steel.hardness import between
from kilnctl.units import say_mm

SOURCE = "ASTM E18, corrections for convex cylinders, as a tester maker's chart prints them"
_DIAMETER_MM = (6.35, 9.525, 12.7, 15.875, 19.05, 22.225, 25.4, 31.75, 38.1)
_READ = (20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90)
_ADD = (
    (6.0, 4.5, 3.5, 2.5, 2.0, 1.5, 1.5, 1.0, 1.0),
    (5.5, 4.0, 3.0, 2.5, 2.0, 1.5, 1.0, 1.0, 1.0),
    (5.0, 3.5, 2.5, 2.0, 1.5, 1.0, 1.0, 1.0, 0.5),
    (4.0, 3.0, 2.0, 1.5, 1.5, 1.0, 1.0, 0.5, 0.5),
    (3.5, 2.5, 2.0, 1.5, 1.0, 1.0, 1.0, 0.5, 0.5),
    (3.0, 2.0, 1.5, 1.0, 1.0, 1.0, 0.5, 0.5, 0.5),
    (2.5, 2.0, 1.5, 1.0, 1.0, 0.5, 0.5, 0.5, 0.5),
    (2.0, 1.5, 1.0, 1.0, 0.5, 0.5, 0.5, 0.5, 0.0),
    (1.5, 1.0, 1.0, 0.5, 0.5, 0.5, 0.5, 0.0, 0.0),
    (1.5, 1.0, 1.0, 0.5, 0.5, 0.5, 0.5, 0.0, 0.0),
    (1.0, 1.0, 0.5, 0.5, 0.5, 0.5, 0.5, 0.0, 0.0),
    (1.0, 0.5, 0.5, 0.5, 0.5, 0.5, 0.0, 0.0, 0.0),
    (0.5, 0.5, 0.5, 0.5, 0.5, 0.0, 0.0, 0.0, 0.0),
    (0.5, 0.5, 0.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
    (0.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0),
)


def round_correction(reading: float, scale: str, diameter_mm: float) -> float:
    """Return what is added to a reading in HRC or HRA on a round, in the same scale.

    Raises ProfileError for another scale, and for a round thinner than 6.3 mm, which no table corrects.
    """
    if scale not in ("HRC", "HRA"):
        raise ProfileError(f"no correction for rounds is known here in {scale}: grind a flat, and test there")
    if diameter_mm < _DIAMETER_MM[0] - 0.05:
        raise ProfileError(
            f"a round of {say_mm(diameter_mm)} is too thin to correct ({say_mm(_DIAMETER_MM[0])} at least): "
            "grind a flat, or test in HV"
        )
    if diameter_mm > _DIAMETER_MM[-1]:
        return 0.0
    return between(reading, _READ, [between(diameter_mm, _DIAMETER_MM, row) for row in _ADD])
