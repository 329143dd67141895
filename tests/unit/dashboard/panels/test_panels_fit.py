"""Every panel keeps to its room."""

import pytest
from dashboard.feed import STATES

from kilnctl.dashboard.panels import big_views, heat_panel, layout, limits_panel, plan_panel
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


@pytest.mark.parametrize("name", STATES)
def test_a_small_terminal_says_what_it_must_and_fills_the_rest_with_letters(name: str) -> None:
    """A window of a browser is told of the small page, not of a terminal's font."""
    view = View(STATES[name](), web=True)
    for width, height in ((60, 18), (43, 46), (79, 23), (30, 10)):
        text = layout._too_small(view, width, height).plain
        assert "HOT EQUIPMENT" in text
        assert "open the small page" in text
        assert "terminal" not in text
        assert ("█" in text) is (width > 40 and not (view.s.trip and height == 18)), (width, name)
