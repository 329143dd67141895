"""Runs drawn over each other."""

from pathlib import Path

from heats import ruled_run

from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.report.charts.compare_chart import write_overlay
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
