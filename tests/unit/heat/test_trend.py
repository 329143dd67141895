"""How an oven moves against what it was asked for: made-up curves whose answer is known."""

import pytest

from kilnctl.heat.trend import Trend


def after(minutes: list[tuple[float, float]]) -> Trend:
    """Return the trend after minutes of (rise in K, share of heat), a second at a time."""
    trend, at_s, now_c = Trend(), 0.0, 200.0
    for rise_k, share in minutes:
        for second in range(60):
            at_s, now_c = at_s + 1.0, now_c + rise_k / 60.0
            trend.see(at_s, now_c, second % 10 < share * 10, 1.0)
    return trend


@pytest.mark.parametrize(
    ("minutes", "gains", "loses", "goes_on"),
    [
        ([(1.0, 0.3)] * 4, False, False, False),
        ([(1.0, 0.3)] * 4 + [(6.0, 0.3)], True, False, False),
        ([(1.0, 0.3)] * 4 + [(6.0, 0.6)], False, False, False),  # it was asked for more
        ([(3.0, 0.6)] * 4 + [(-1.0, 0.6)], False, True, False),
        ([(3.0, 0.6)] * 4 + [(-1.0, 0.3)], False, False, False),  # it was asked for less
        ([(13.5, 1.0)] * 4 + [(11.0, 1.0)], False, False, False),  # as a quick heat-up bends by itself
        ([(15.0, 1.0)] * 4 + [(14.0, 0.1)], False, False, True),
        ([(15.0, 1.0)] * 4 + [(7.0, 0.1)], False, False, False),
        (
            [(4.0, 0.5)] * 3 + [(4.5, 0.3), (5.0, 0.1)],
            False,
            False,
            True,
        ),  # less and less, and as fast as ever
        ([(4.0, 0.5)] * 3 + [(4.5, 0.3), (3.5, 0.1)], False, False, False),  # it coasts
        ([(1.0, 0.2)] * 3 + [(1.5, 0.6), (4.0, 0.05)], False, False, False),  # a pulse has just begun to show
        ([(4.0, 0.1)] * 5, False, False, False),  # it never had more
        ([(0.0, 0.0)] * 3 + [(5.0, 1.0), (11.0, 1.0)], False, False, False),  # the element warms up first
        ([(1.0, 0.3), (6.0, 0.3)], False, False, False),  # too short a past
    ],
)
def test_a_change_that_nobody_asked_for(minutes, gains, loses, goes_on) -> None:
    trend = after(minutes)
    assert (trend.gains, trend.loses, trend.goes_on) == (gains, loses, goes_on)
