"""A heat whose controller has gone without a word: the command and the latch say the same of it."""

from datetime import UTC, datetime

import pytest

from kilnctl.cli.watch.controller_lost import _by_latch
from kilnctl.marks.latch import Latch
from kilnctl.readings import Trip


@pytest.mark.usefixtures("own_home")
def test_a_heat_that_nobody_ended_is_called_what_its_latch_says() -> None:
    latch = Latch("left", lambda: datetime(2026, 11, 3, tzinfo=UTC))
    latch.arm(7)
    assert _by_latch("left") == "interrupted"
    latch.trip(Trip("sensor_lost", "open", 0.0))
    assert _by_latch("left") == "tripped"
