"""What a part takes of elements that see it: the even chamber that would warm it as both together do."""

from typing import Literal, NamedTuple

from kilnctl.model.part import STEFAN_BOLTZMANN, PartModel

_KELVIN = 273.15
_ROUNDS = 6
Elements = Literal["open", "plate", "muffle", "embedded", "fan"]
Shield = Literal["box", "tray of sand", "plate"]


class Sight(NamedTuple):
    """How much of its surroundings a part sees of the elements: as a rule, and at most."""

    usual: float
    most: float


HIDDEN = Sight(0.0, 0.0)
# Coils in open grooves along the walls cover a fifth to two fifths of what a part sees (common practice, no
# single source; an integration over strips on two walls gives 0.05 to 0.25); a plate or a muffle hides them.
VIEWS: dict[str, Sight] = {"open": Sight(0.2, 0.4)}
# Nobody has said how they sit: grooves hide most of a coil.
UNTOLD = Sight(0.05, 0.15)


def view_of(elements: Elements | None, shield: Shield | None = None) -> Sight:
    """Return what a part sees of elements that sit so; a shield round the part hides them all."""
    if shield is not None:
        return HIDDEN
    return UNTOLD if elements is None else VIEWS.get(elements, HIDDEN)


def hottest_face_c(face_c: float, reads_c: float) -> float:
    """Return how hot the face may be at most, by the model's face and what the sensor reads, in degC.

    A fit cannot tell a sensor that sees the elements a little from a hotter face: it may see nothing of them,
    and then the face is as hot as it reads.
    """
    return max(face_c, reads_c)


def seen_c(part: PartModel, face_c: float, element_c: float, view: float) -> float:
    """Return the even chamber temperature (degC) that exchanges as much with the part as face and element do.

    Radiation from both by their share of the view (grey surfaces, Stefan-Boltzmann), the film from the face's
    air; solved by Newton.
    """
    if view <= 0.0:
        return face_c
    glow, film = part.emissivity * STEFAN_BOLTZMANN, part.film_w_per_m2_k
    face, element = face_c + _KELVIN, element_c + _KELVIN
    flows = glow * ((1.0 - view) * face**4 + view * element**4) + film * face
    at = max(face, element)
    for _ in range(_ROUNDS):
        at -= (glow * at**4 + film * at - flows) / (4.0 * glow * at**3 + film)
    return at - _KELVIN
