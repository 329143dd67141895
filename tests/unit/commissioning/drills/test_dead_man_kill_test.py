"""After how many seconds a killed program's output dropped: "at most" where nobody looked before."""

from types import SimpleNamespace

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.commissioning.drills.dead_man_kill_test import _dropped


@pytest.mark.parametrize(("quiet", "said"), [(True, "after at most 10"), (False, "after 5")])
def test_seconds_that_nobody_looked_in_are_no_measured_time(quiet: bool, said: str) -> None:
    """5.0 s were stored as 10.1 s: that was when the first look came."""
    clock = VirtualClock()
    probe = SimpleNamespace(heater_on=lambda: clock.now_s() < 5.0)
    found = _dropped(probe, clock, clock.now_s(), quiet, lambda: True)
    assert found.passed
    assert said in found.line, found.line
    assert ("at most" in found.line) is quiet
