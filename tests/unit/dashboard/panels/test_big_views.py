"""The far view."""

import pytest
from dashboard.feed import STATES

from kilnctl.dashboard.panels import big_views
from kilnctl.dashboard.view_state import View


@pytest.mark.parametrize("size", [(80, 20), (80, 14), (120, 31), (200, 56)])
def test_tall_letters_do_not_touch_the_words_above_them(size: tuple[int, int]) -> None:
    """At 80 x 24 the far view has 20 rows, and 14 beside a step that waits."""
    for name in ("heating", "soaking", "ready", "hot"):
        view = View(STATES[name]())
        rows = [any(c in row for c in "█▀▄") for row in big_views.far(view, *size).plain.splitlines()]
        words_ = "".join("#" if filled else " " for filled in rows).split()
        assert len(words_) == (2 if name == "hot" else 3), (name, rows)
