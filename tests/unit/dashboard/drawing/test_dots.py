"""Curves in quarters of a cell."""

import numpy as np

from kilnctl.dashboard.drawing.dots import Dots

BLOCKS = "█▀▄▌▐▘▝▖▗▙▟▛▜▚▞"


def test_a_spike_of_one_second_in_ten_hours_is_drawn() -> None:
    times = np.arange(36_000.0)
    values = np.where(times == 17_123.0, 900.0, 200.0)
    dots = Dots(60, 12, (0.0, 36_000.0), (0.0, 1000.0))
    dots.line(times, values, "measured")
    rows = ["".join(run.text for run in row) for row in dots.rows()]
    column = int(17_123.0 / 36_000.0 * 60)
    assert rows[1][column] in BLOCKS, "\n".join(rows)
    assert sum(row[column] in BLOCKS for row in rows) >= 8, "it is joined to the line"


def test_a_gap_stays_a_gap_and_a_slope_is_one_line() -> None:
    x = np.arange(101.0)
    dots = Dots(50, 10, (0.0, 100.0), (0.0, 100.0))
    dots.line(x, np.where((x > 40) & (x < 60), np.nan, x), "measured")
    rows = ["".join(run.text for run in row) for row in dots.rows()]
    drawn = [any(row[c] != " " for row in rows) for c in range(50)]
    assert not any(drawn[21:29])
    assert all(drawn[:20] + drawn[31:])


def test_a_steep_line_from_few_points_has_no_holes() -> None:
    """At 200 columns a predicted heat-up had a hole where a point of the edge fell into the column before."""
    x, y = np.array([0.0, 13_620.0, 15_060.0, 26_640.0]), np.array([20.0, 45.0, 218.0, 218.0])
    for width in range(20, 161):
        dots = Dots(width, 36, (0.0, 26_640.0), (0.0, 250.0))
        dots.line(x, y, "ahead")
        heights = np.flatnonzero(dots._dots.any(axis=1))
        assert np.diff(heights).max() == 1, f"a hole at a width of {width}"


def test_a_bare_console_is_drawn_in_halves_only() -> None:
    """Code page 437 has the halves and not the quarters of a cell."""
    dots = Dots(50, 10, (0.0, 100.0), (0.0, 100.0), fine=False)
    dots.line(np.arange(101.0), np.arange(101.0), "measured")
    assert {mark for row in dots.rows() for run in row for mark in run.text} <= set(" █▀▄")
