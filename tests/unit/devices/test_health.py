"""Counting what came back in the last half minute."""

from kilnctl.devices.health import Health


def test_window_forgets_after_half_a_minute():
    health = Health()
    for second in range(10):
        health.note(second % 2 == 0, float(second))
    assert health.bad_and_all(9.0) == (5, 10)
    assert health.bad_and_all(35.5) == (2, 4)
    assert health.bad_and_all(100.0) == (0, 0)


def test_misses_in_a_row_end_with_a_good_one():
    health = Health()
    for good in (False, False, True, False):
        health.note(good, 0.0)
    assert health.misses_in_a_row == 1
