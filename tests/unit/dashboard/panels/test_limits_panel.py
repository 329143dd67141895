"""How near each limit is."""

import dataclasses

from dashboard.feed import heating, soaking

from kilnctl.dashboard.panels import limits_panel
from kilnctl.dashboard.view_state import View


def test_an_interlock_near_its_limit_is_marked() -> None:
    near = dataclasses.replace(heating().interlocks[0], near=0.81)
    view = View(dataclasses.replace(soaking(), interlocks=(near,)))
    assert "▲ Over-temperature" in limits_panel.limits(view, 60, 4).plain
    assert "▲" not in limits_panel.limits(View(soaking()), 60, 4).plain
