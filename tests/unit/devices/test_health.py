"""Counting what came back lately."""

from kilnctl.devices.health import Health, of_all


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


def one_a_second(seconds):
    health = Health()
    for second in range(seconds):
        health.note(second % 10 != 0, float(second))
    return health


def test_two_slow_devices_are_counted_for_as_long_as_120_answers_take():
    assert of_all([one_a_second(200), one_a_second(200)], 199.0) == (10, 118)


def test_what_is_quick_enough_is_counted_for_half_a_minute():
    quick = Health()
    for tenth in range(1000):
        quick.note(True, tenth / 10.0)
    assert of_all([quick], 99.9) == (0, 301)


def test_what_is_there_of_a_young_wire_is_counted():
    assert of_all([one_a_second(5)], 4.0) == (1, 5)
    assert of_all([Health()], 4.0) == (0, 0)


def test_no_more_is_kept_than_counts():
    slow = Health()
    for second in range(0, 3000, 30):
        slow.note(True, float(second))
    assert slow.bad_and_all(2970.0, 1e9) == (0, 11)
