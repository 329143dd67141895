"""Every panel keeps to its room."""

import pytest
from dashboard.feed import STATES

from kilnctl.dashboard.panels import big_views, heat_panel, limits_panel, plan_panel
from kilnctl.dashboard.view_state import View


@pytest.mark.parametrize("name", STATES)
@pytest.mark.parametrize("plain", [False, True])
def test_no_row_is_wider_than_its_room(name: str, plain: bool) -> None:
    view = View(STATES[name](), plain=plain)
    for width, height in ((30, 8), (32, 8), (49, 9), (80, 6), (43, 14), (137, 20)):
        for paint in (plan_panel.plan, limits_panel.limits, heat_panel.heat):
            if paint is limits_panel.limits and width < 48:
                continue  # at 80 columns it has 49
            rows = paint(view, width, height).plain.splitlines()
            assert len(rows) <= height, paint
            assert all(len(row) <= width for row in rows), (paint, width, rows)
    for width, height in ((80, 14), (80, 16), (120, 28), (200, 50)):
        rows = big_views.far(view, width, height).plain.splitlines()
        assert len(rows) <= height
        assert all(len(row) <= width for row in rows)
