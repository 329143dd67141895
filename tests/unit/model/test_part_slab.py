"""The part estimate: its bookkeeping, its stability, and which model it picks."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kilnctl.model.part import advance, part_of, slab, start
from kilnctl.model.steel_heat import EN_CARBON_STEEL, _table, heat_content_j_per_kg
from kilnctl.profile.segments import Profile

RAMP = {"kind": "ramp", "to": "830 C"}


def profile(**keys: object) -> Profile:
    return Profile.model_validate({"name": "p", "segment": (RAMP,), **keys})


def test_no_section_means_no_part() -> None:
    assert part_of(profile()) is None


def test_thick_part_gets_layers_at_hardening_heat_and_none_at_temper_heat() -> None:
    assert part_of(profile(section="25 mm")).layers > 1
    assert part_of(profile(section="6 mm")).layers == 1
    assert slab(25, "bright", peak_c=218).layers == 1


def test_one_face_on_a_hearth_takes_twice_as_long() -> None:
    both, one = slab(5, faces="both"), slab(5, faces="one")
    assert one.depth_m == 2 * both.depth_m


@pytest.mark.parametrize("thickness_mm", [0.5, 6, 30])
def test_part_in_balance_stays(thickness_mm: float) -> None:
    model = slab(thickness_mm)
    state = advance(model, start(model, 218.0), 218.0, 60.0)
    assert state.core_c == pytest.approx(218.0, abs=0.02)


@given(
    thickness_mm=st.floats(0.3, 60),
    dt_s=st.floats(0.2, 3600),
    from_c=st.floats(-80, 1100),
    to_c=st.floats(-80, 1100),
)
def test_no_step_overshoots_the_chamber(thickness_mm: float, dt_s: float, from_c: float, to_c: float) -> None:
    model = slab(thickness_mm)
    state = start(model, from_c)
    for _ in range(5):
        state = advance(model, state, to_c, dt_s)
        low, high = min(from_c, to_c), max(from_c, to_c)
        assert low - 1.0 <= state.core_c <= high + 1.0
        assert low - 1.0 <= state.surface_c <= high + 1.0


def test_layers_store_the_heat_that_entered() -> None:
    """Core lags, skin leads, and the mean heat content rises to that of the chamber."""
    model = replace(slab(40), layers=7)
    state = start(model, 20.0)
    state = advance(model, state, 830.0, 60.0)
    assert state.core_c < state.surface_c < 830.0
    for _ in range(20000):
        state = advance(model, state, 830.0, 1.0)
    assert sum(state.content) / 7 == pytest.approx(heat_content_j_per_kg(830.0), rel=1e-3)


@given(st.floats(-150, 1300))
def test_heat_content_reads_both_ways(at_c: float) -> None:
    assert EN_CARBON_STEEL.temperature(EN_CARBON_STEEL.content(at_c)) == pytest.approx(at_c, abs=0.15)


def test_every_entry_of_the_table_has_its_heat_content() -> None:
    first_j_per_kg, table_c = _table()
    for i, at_c in enumerate(table_c):
        assert heat_content_j_per_kg(at_c) == pytest.approx(first_j_per_kg + 250.0 * i, abs=1e-4)
