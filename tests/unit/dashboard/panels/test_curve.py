"""What of the curve is shown: stretch, heights, labels, what is still to come."""

import dataclasses

import numpy as np
from dashboard.feed import heating
from hypothesis import given
from hypothesis import strategies as st

from kilnctl.dashboard import formatting
from kilnctl.dashboard.history import History
from kilnctl.dashboard.panels.curve import (
    arrival,
    heights,
    hours,
    limit_apart,
    picture,
    round_ticks,
    round_times,
    still_ahead,
    window,
)


def test_only_what_is_still_to_come_is_a_prediction() -> None:
    s = dataclasses.replace(heating(), elapsed_s=100.0)
    s = dataclasses.replace(s, prediction=tuple((float(t), 0.0, 1.0, 2.0) for t in range(0, 300, 50)))
    assert list(still_ahead(s, 200.0)[:, 0]) == [100.0, 150.0, 200.0]
    for state in ("tripped", "stopped", "complete"):
        over = dataclasses.replace(s, state=state)  # type: ignore[arg-type]
        assert still_ahead(over, 200.0).shape == (0, 4)
        assert window(over, "whole heat") == (0.0, 100.0), "the time axis ends where the heat did"


def test_windows_of_the_curve() -> None:
    s = heating()
    assert window(s, "whole heat") == (0.0, 12360.0)
    assert window(s, "last 30 min") == (10400.0 - 1800.0, 10400.0)
    assert window(s, "around now") == (10400.0 - 900.0, 10400.0 + 1800.0)
    assert window(dataclasses.replace(s, elapsed_s=5.0), "last 30 min") == (0.0, 60.0)


def test_the_limit_is_always_on_the_whole_heat() -> None:
    low, high = heights([np.array([20.0, 742.0])], 1100.0, True)
    assert low == 0.0
    assert high > 1100.0
    assert heights([np.array([740.0, 742.0])], 1100.0, False)[1] < 800.0
    assert heights([np.array([215.0, 218.0])], 230.0, False)[1] > 230.0
    assert heights([np.array([np.nan])], 260.0, True)[1] > 260.0


@given(st.floats(0, 90000), st.floats(30, 90000), st.integers(2, 30))
def test_time_labels_are_few_and_round(start: float, length: float, most: int) -> None:
    ticks = round_times(start, start + length, most)
    assert len(ticks) <= most + 1
    assert all(start <= t <= start + length and t % 60 == 0 for t in ticks)
    assert hours(5400.0) == "1:30"


def test_the_arrival_names_its_time_and_how_sure_it_is() -> None:
    """By hand: from 700 at 100 s the middle is at 800 after 1000 s, the bounds after 500 and 2000 s."""
    rows = tuple(
        (100.0 + t, *(min(800.0, 700.0 + t * k) for k in (0.05, 0.1, 0.2))) for t in range(0, 2101, 20)
    )
    s = dataclasses.replace(
        heating(), elapsed_s=100.0, process_c=700.0, prediction=rows, utc="2026-03-01T12:00:00+00:00"
    )
    local = [formatting.later_time(s, in_s) for in_s in (980.0, 500.0, 1960.0)]
    assert arrival(s) == f"{local[0]} ({local[1]}–{local[2]})"
    assert arrival(dataclasses.replace(s, process_c=799.0)) == "", "it is there"


def test_temperature_labels_are_few_and_round() -> None:
    assert round_ticks(0.0, 1150.0, 6) == [0.0, 200.0, 400.0, 600.0, 800.0, 1000.0]
    assert round_ticks(210.3, 224.0, 4) == [215.0, 220.0]


def test_a_limit_is_never_drawn_below_what_lies_below_it() -> None:
    """By hand: six cells of 150 K; 750 and 765 share one, so the limit goes a cell up, with the axis."""
    heat = [np.array([20.0, 750.0, np.nan])]
    (low, high), lift_k = limit_apart((0.0, 900.0), 6, 765.0, heat)
    cell = (high - low) / 6
    assert int((high - 765.0 - lift_k) / cell) < int((high - 750.0) / cell)
    assert high > 765.0 + lift_k
    assert limit_apart((0.0, 900.0), 6, 765.0, [np.array([300.0])]) == ((0.0, 900.0), 0.0), "far below it"
    assert limit_apart((0.0, 900.0), 6, 1100.0, heat) == ((0.0, 900.0), 0.0), "not on the chart"
    assert limit_apart((0.0, 900.0), 6, 700.0, [np.array([750.0])])[1] == 0.0, "above it nothing is moved"


def test_a_low_chart_gives_its_axis_to_the_curve() -> None:
    """At 80 x 24 a trip once left the curve two rows."""
    s = heating()
    history = History(s.run)
    history.add(s)
    for low, rows, words in ((True, 4, "°C 0:00"), (False, 5, "▲now")):
        drawn = picture(s, history, "whole heat", formatting.Degrees(), False, 60, 3, low=low)
        assert len(drawn) == rows
        assert words in "".join(run.text for row in drawn[3:] for run in row)


def test_what_is_predicted_is_told_from_what_was_measured_without_a_colour() -> None:
    """Without colours, and on an old picture in its one grey, both were the same unbroken line."""
    s = dataclasses.replace(
        heating(), setpoint_c=None, part_c=None, goal_c=None, second_c=None, elapsed_s=6e3
    )
    ahead = tuple((at_s, 740.0, 742.4, 745.0) for at_s in np.arange(6000.0, 12400.0, 100.0).tolist())
    s = dataclasses.replace(s, prediction=ahead)
    history = History(s.run)
    for at_s in np.arange(0.0, 6100.0, 100.0).tolist():
        history.add(dataclasses.replace(s, elapsed_s=at_s))
    for plain in (False, True):
        drawn = picture(s, history, "whole heat", formatting.Degrees(), plain, 60, 12)
        rows = ["".join(run.text for run in row) for row in drawn]
        line = next(row for row in rows if {"▄", "▀"} & set(row))
        assert " " not in line[10:34], "measured"
        assert line[42:62].count(" ") == 10, "predicted: every second cell"
