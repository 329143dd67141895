"""An instrument that regulates by itself: full below its band, nothing above it, none when parked."""

from simulator.boards.follower import BAND_K, Follower


def test_far_below_all_far_above_nothing() -> None:
    one = Follower()
    one.goal_c = 200.0
    assert one.duty(200.0 - 2 * BAND_K, 1.0) == 1.0
    assert one.duty(200.0 + 2 * BAND_K, 1.0) == 0.0


def test_a_lasting_error_moves_the_duty_and_a_parked_one_asks_for_nothing() -> None:
    one = Follower()
    one.goal_c = 200.0
    first = one.duty(195.0, 10.0)
    for _ in range(20):
        last = one.duty(195.0, 10.0)
    assert 0.0 < first < last <= 1.0
    one.park()
    assert one.duty(20.0, 1.0) == 0.0
