"""A part in sight of the elements: heat flows by Stefan-Boltzmann and film, written out here once more."""

import pytest

from kilnctl.model.part import slab
from kilnctl.model.part_view import seen_c


def flow_w_per_m2(emissivity, film, view, face_c, element_c, part_c):
    """Textbook: grey surfaces, each by its share of the view; constant 5.67e-8 W/(m2 K4)."""
    face, element, part = (c + 273.15 for c in (face_c, element_c, part_c))
    glow = (1.0 - view) * face**4 + view * element**4 - part**4
    return emissivity * 5.670374419e-8 * glow + film * (face_c - part_c)


@pytest.mark.parametrize(
    ("face_c", "element_c"), [(20.0, 700.0), (218.0, 500.0), (829.0, 1000.0), (218.0, 218.0)]
)
@pytest.mark.parametrize("surface", ["bare", "bright"])
def test_a_part_at_the_temperature_seen_takes_no_heat(surface, face_c, element_c):
    part = slab(2.0, surface)
    at_c = seen_c(part, face_c, element_c, 0.3)
    assert flow_w_per_m2(
        part.emissivity, part.film_w_per_m2_k, 0.3, face_c, element_c, at_c
    ) == pytest.approx(0.0, abs=0.5)
    assert face_c - 1e-6 <= at_c <= max(element_c, face_c) + 1e-6


def test_hidden_elements_count_for_nothing():
    assert seen_c(slab(2.0), 218.0, 700.0, 0.0) == 218.0
