"""What a part takes of elements that see it: the even chamber that would warm it as both together do."""

from kilnctl.model.part import STEFAN_BOLTZMANN, PartModel

_KELVIN = 273.15
# How much of its surroundings a part sees of the elements. Coils in open grooves along the walls cover a
# fifth to two fifths of it (common practice, no single source); a plate or a muffle hides them.
VIEWS = {"open": 0.3, "plate": 0.0, "muffle": 0.0, "embedded": 0.0, "fan": 0.0}
_ROUNDS = 6


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
