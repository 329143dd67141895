"""Two numbers say a runaway: what is set, and a reading far above it, now. Common practice."""

import pytest

from kilnctl.guide.words_of_need import far_above_set


@pytest.mark.parametrize(
    "said",
    [
        "setpoint 800 but reading 950",
        "i set 205, it shows 245",
        "reads 1010 instead of 800",
        "should be 200, it says 420",
    ],
)
def test_far_above_what_is_set_is_a_runaway(said: str) -> None:
    assert far_above_set(said)


@pytest.mark.parametrize(
    "said",
    [
        "set 205 reading 230",  # an oven that settles
        "set 200 c, shows 392 f",  # the same heat
        "set 400 shows 204",
        "it was at 850, reads 850 now, set 800",  # it has been
        "set 800",
        "shows 800",
    ],
)
def test_near_it_below_it_or_once_is_none(said: str) -> None:
    assert not far_above_set(said)
