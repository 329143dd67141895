"""What a corrected estimate of an oven may be."""

from dataclasses import replace

from kilnctl.model.oven_model import at_rest
from kilnctl.model.physical_bounds import is_an_ovens, within_physics

WARM = at_rest(200.0)


def test_what_physics_allows_stays_as_it_is() -> None:
    assert within_physics(WARM, WARM, 20.0) == WARM


def test_nothing_is_colder_than_the_coldest_place_around_it_but_what_was_so_before() -> None:
    colder = replace(WARM, wall_4_c=5.0)
    assert within_physics(WARM, colder, 20.0).wall_4_c == 20.0
    before = replace(WARM, wall_4_c=10.0)
    assert within_physics(before, colder, 20.0).wall_4_c == 10.0


def test_a_load_is_not_hotter_than_what_heats_it_but_where_it_was() -> None:
    hotter = replace(WARM, load_c=300.0)
    assert within_physics(WARM, hotter, 20.0).load_c == 200.0
    assert within_physics(hotter, hotter, 20.0).load_c == 300.0


def test_an_estimate_beyond_any_oven_is_told_and_left() -> None:
    wild = replace(WARM, wall_1_c=-400.0)
    assert not is_an_ovens(wild)
    assert within_physics(WARM, wild, 20.0) == wild
    assert is_an_ovens(WARM)
