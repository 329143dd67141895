"""The plan beside the curve, and its page."""

import dataclasses

from dashboard.feed import heating, held, tempering
from hypothesis import given, settings
from hypothesis import strategies as st

from kilnctl.dashboard import formatting
from kilnctl.dashboard.panels import plan_panel
from kilnctl.dashboard.view_state import View


@settings(deadline=None)
@given(st.floats(0, 40_000), st.floats(60, 90_000), st.floats(0, 1200), st.sampled_from([30, 43, 64]))
def test_no_time_makes_a_row_of_the_plan_too_long_or_cut(
    done_s: float, goal_s: float, goal_c: float, width: int
) -> None:
    s = tempering()
    soak = dataclasses.replace(s.segments[1], goal_c=goal_c, soak_s=goal_s)
    plan = (s.segments[0], soak, *s.segments[2:])
    shown = dataclasses.replace(
        s, segments=plan, soak_part_s=done_s, soak_oven_s=done_s, soak_goal_s=goal_s, segment_left_s=goal_s
    )
    for degrees in (formatting.Degrees("C"), formatting.Degrees("F")):
        text = plan_panel.plan(View(shown, degrees), width, 8).plain
        assert all(len(row) <= width for row in text.splitlines()), text
        assert "…" not in text


def test_the_page_of_the_plan_says_why_each_step_is_there() -> None:
    """A click on the plan opens it."""
    view = View(heating(), reasons=("", "", "so that thick and thin heat evenly"))
    page = plan_panel.plan_page(view, 80).plain
    assert (
        page.index("3 soak 650 °C") < page.index("why: so that thick and thin") < page.index("4 heat to 800")
    )
    assert page.count("why:") == 1


def test_the_page_of_the_plan_says_the_words_of_a_step_once() -> None:
    for width, rows in ((80, 1), (40, 2)):
        page = plan_panel.plan_page(View(heating()), width).plain.splitlines()
        assert sum("three gouges on the rack" in row for row in page) == 1
        assert sum("load" in row.lower() for row in page) == rows


def test_the_legend_names_the_prediction_where_there_is_one_even_at_80_columns() -> None:
    """The large grey line had no name at 80 columns, and a name without a line after the end."""
    for s, there in ((heating(), True), (dataclasses.replace(heating(), state="complete"), False)):
        assert ("predicted" in plan_panel.title_of_curve(s, "whole heat", 47, "").plain) is there


def test_a_hardness_is_never_shown_without_saying_that_it_is_aimed_at() -> None:
    """At 80 columns "temper 35 min · 58–61 HRC" read like what had been reached."""
    for done_s in (2110.0, 4500.0, 40_000.0):
        s = dataclasses.replace(tempering(), temper_equivalent={"C = 20": done_s})
        for width in (20, 26, 30, 34, 43):
            said = plan_panel.plan(View(s), width, 8).plain
            assert ("HRC" in said) is ("aim" in said), said
            assert "…" not in said.splitlines()[-1]
    at_80 = plan_panel.plan(View(tempering()), 30, 8).plain
    assert "temper 35 min · aim 58–61 HRC" in at_80


def test_what_is_done_and_the_times_at_the_right_have_names() -> None:
    """ "3 of 6 done · ends" above "2 h 06 min" was read as one phrase."""
    rows = plan_panel.plan(View(heating()), 43, 20).plain.splitlines()
    assert rows[0].startswith("── plan: 3 of 6 done ─")
    assert rows[0].rstrip().endswith("took, ends at")
    narrow = plan_panel.plan(View(heating()), 30, 8).plain.splitlines()
    assert narrow[0].rstrip().endswith("ends at")


def test_the_end_is_said_once() -> None:
    """The row "Next:" above says it at every size."""
    assert "33 min left" not in plan_panel.plan(View(heating()), 64, 30).plain


def test_while_the_door_is_open_no_step_has_a_time() -> None:
    said = plan_panel.plan(View(held()), 64, 30).plain
    assert "13:41" not in said
    assert "17 min left" not in said
