"""How fast a simulated oven may run is judged by the rounds on its line."""

import pytest

from kilnctl.cli.heat.simulated_pace import FASTEST, refuse_too_fast, speed_for
from kilnctl.config.oven import find_oven
from kilnctl.errors import RunRefused


@pytest.mark.parametrize(
    ("longest_s", "speed"), [(0.0025, FASTEST), (0.015, 10), (0.04, 5), (0.29, 1), (3.0, 1)]
)
def test_the_longest_round_fills_a_quarter_of_a_tick(longest_s: float, speed: int) -> None:
    assert speed_for(longest_s, 1.0) == speed


def test_a_round_of_most_of_a_tick_is_refused_with_a_speed_that_holds() -> None:
    """7 ms on the line; a tick of 1 s is 6.7 ms at 150 times, 16.7 ms at 60. One late round is no sign."""
    oven = find_oven("tempering-oven")
    with pytest.raises(RunRefused, match=r"7 ms, a tick is 6\.7 ms.*--speed 14"):
        refuse_too_fast(oven, 150.0, [0.007] * 20)
    refuse_too_fast(oven, 60.0, [*[0.007] * 19, 0.2])
