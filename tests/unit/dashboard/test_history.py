"""The curve in memory."""

import dataclasses

import numpy as np
from dashboard.feed import heating, hot
from hypothesis import given
from hypothesis import strategies as st

from kilnctl.dashboard.history import History, Past, decimate, pieces
from kilnctl.dashboard.panels import plan_panel
from kilnctl.link.snapshot import Snapshot


@given(st.lists(st.floats(0, 1200) | st.just(float("nan")), min_size=1, max_size=3000), st.integers(5, 200))
def test_decimation_loses_no_spike(values: list[float], columns: int) -> None:
    """The highest and the lowest of the raw data are in what is drawn, and nothing that was not there."""
    y = np.array(values)
    x, low_high = decimate(np.arange(len(y), dtype=float), y, columns)
    assert len(x) <= max(2 * columns, len(y) if len(y) <= 2 * columns else 0)
    if np.isfinite(y).any():
        assert np.nanmax(low_high) == np.nanmax(y)
        assert np.nanmin(low_high) == np.nanmin(y)
    assert set(low_high[np.isfinite(low_high)]) <= set(y[np.isfinite(y)])
    assert (np.diff(x) >= 0).all()


def test_a_gap_stays_a_gap() -> None:
    y = np.array([1.0, 2.0, np.nan, np.nan, 5.0, 6.0])
    assert [list(part) for _, part in pieces(np.arange(6.0), y)] == [[1.0, 2.0], [5.0, 6.0]]
    assert pieces(np.arange(2.0), np.full(2, np.nan)) == []


def live(at_s: float, **changes: object) -> Snapshot:
    return dataclasses.replace(heating(), elapsed_s=at_s, process_c=at_s, **changes)  # type: ignore[arg-type]


def test_the_past_goes_in_front_of_what_came_live() -> None:
    history = History(12)
    for at_s in (100.0, 101.0, 101.0, 100.5, 102.0):
        history.add(live(at_s))
    assert len(history) == 3
    times = np.arange(0.0, 105.0)
    history.put_before(Past(np.stack([times, times, times, times]), [(5.0, "answer by pts/1")]))
    history.add(live(103.0, last_command="acknowledge by pts/2"))
    x, y = history.line("process", 0.0, 1e9)
    assert list(x) == list(np.arange(0.0, 104.0))
    assert list(y) == list(x)
    assert [e.words for e in history.events] == ["answer by pts/1", "acknowledge by pts/2"]


def test_between_a_record_and_what_came_live_long_after_it_no_line_is_drawn() -> None:
    """The record of a heat is closed at its end, and its oven is watched on."""
    history = History(1)
    history.add(dataclasses.replace(heating(), elapsed_s=400.0))
    times = np.arange(0.0, 101.0)
    history.put_before(Past(np.stack([times, times, times, times]), []))
    x, y = history.line("process", 0.0, 1e9)
    assert [len(px) for px, _ in pieces(x, y)] == [101, 1]
    assert list(x[-2:]) == [101.0, 400.0]


def test_nothing_measured_is_a_gap_in_the_history() -> None:
    history = History(1)
    history.add(dataclasses.replace(heating(), process_c=None))
    assert np.isnan(history.line("process", 0.0, 1e9)[1]).all()


def test_the_limit_is_kept_as_it_was_in_force() -> None:
    """After the end the oven's own limit is nearer to nobody: the heat was judged by another."""
    history = History(12)
    history.add(heating())
    history.add(dataclasses.replace(hot(), elapsed_s=heating().elapsed_s + 5.0))
    limits = list(history.line("limit", 0.0, 1e6)[1])
    assert limits[0] == 815.0
    assert np.isnan(limits[1])


def test_the_thin_edge_is_kept_from_when_the_screen_came() -> None:
    """The record has no such column: before the screen came there is a gap, never a guess."""
    history = History(12)
    history.add(live(200.0, skin_c=(640.0, 660.0)))
    times = np.arange(0.0, 105.0)
    history.put_before(Past(np.stack([times, times, times, times]), []))
    assert history.value("skin", 200.0) == 640.0
    assert history.value("skin", 50.0) is None
    assert (
        "~thin edge" in plan_panel.title_of_curve(live(200.0, skin_c=(1.0, 2.0)), "whole heat", 80, "").plain
    )
    assert "~thin edge" not in plan_panel.title_of_curve(live(200.0), "whole heat", 80, "").plain
