"""Runs drawn over each other."""

from pathlib import Path

import pytest
from heats import one_run, ruled_run
from matplotlib.figure import Figure

from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.report.charts.compare_chart import draw_overlay, write_overlay
from kilnctl.report.record import Record, load_record


def _record(book: Logbook, run: int) -> Record:
    return load_record(Reader(book.connection), run)


def test_an_overlay_is_drawn(book: Logbook, tmp_path: Path) -> None:
    records = tuple(_record(book, ruled_run(book, hot_k=k)) for k in (0.0, 5.0))
    write_overlay(records, tmp_path / "both.svg", "svg")
    text = (tmp_path / "both.svg").read_text()
    assert "run 1" in text
    assert "run 2" in text
    assert "SIMULATED" in text


@pytest.mark.parametrize(("count", "unit"), [(300, "minutes"), (9000, "hours")])
def test_short_runs_are_drawn_in_minutes(book: Logbook, count: int, unit: str) -> None:
    """Two heats of five minutes had an axis of 0.02, 0.04, 0.06 hours."""
    axes = Figure().subplots()
    draw_overlay((_record(book, one_run(book, count)),), axes)
    assert axes.get_xlabel() == f"{unit} since the start of each run"
    assert max(axes.lines[0].get_xdata()) == pytest.approx(
        count / (60.0 if unit == "minutes" else 3600.0), rel=0.01
    )
