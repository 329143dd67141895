"""A heater that starts softly: a straight rise, so a pulse of t brings t^2 / 2s, or t - s/2 (its area)."""

import pytest

from kilnctl.model.soft_start import SoftStart, given, pulses, softened


@pytest.mark.parametrize("dt_s", [1.0, 0.5])
@pytest.mark.parametrize(("on_s", "brings_s"), [(3, 9 / 12), (6, 3.0), (20, 17.0)])
def test_a_pulse_brings_the_area_under_a_straight_rise(on_s, brings_s, dt_s):
    heater = SoftStart(6.0)
    assert sum(heater.gives(1.0, dt_s) * dt_s for _ in range(round(on_s / dt_s))) == pytest.approx(brings_s)


def test_a_tick_in_which_full_power_is_reached_counts_both_parts():
    assert given(1.0, 2.0, 2.0) == pytest.approx((0.75 + 1.0) / 2)


def test_it_begins_anew_after_every_switching_off():
    assert softened([1.0, 1.0, 0.0, 1.0], 1.0, 4.0) == pytest.approx([0.125, 0.375, 0.0, 0.125])


def test_a_heater_that_is_there_at_once_gives_what_is_asked():
    assert softened([1.0, 0.3, 0.0], 1.0, 0.0) == [1.0, 0.3, 0.0]


def test_the_pulses_of_a_record_are_found_at_both_ends_too():
    assert pulses([1.0, 1.0, 0.0, 0.4, 1.0]) == [(0, 2), (4, 5)]
    assert pulses([]) == []
