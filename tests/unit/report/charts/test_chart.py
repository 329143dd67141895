"""The curve of a record: drawn, marked, thinned without loss."""

from dataclasses import replace
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pytest
from heats import one_run
from matplotlib.figure import Figure

from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Event, Logbook
from kilnctl.report.charts.chart import draw, thin, write_chart
from kilnctl.report.charts.time_axis import merged
from kilnctl.report.layout.style import STYLE
from kilnctl.report.record import load_record

DAY_S = 86_400.0


@pytest.mark.parametrize("kind", ["png", "svg"])
def test_a_chart_is_drawn_and_marked(full_book: Logbook, tmp_path: Path, kind: str) -> None:
    run = one_run(full_book, 50, end=False)
    for number in (1, run):
        write_chart(load_record(Reader(full_book.connection), number), tmp_path / f"{number}.{kind}", kind)
    if kind == "png":
        assert (tmp_path / "1.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"  # PNG specification
        return
    whole, broken = ((tmp_path / f"{number}.svg").read_text() for number in (1, run))
    assert "part, estimated" in whole
    assert "°F" in whole
    assert "INCOMPLETE" not in whole
    assert "INCOMPLETE" in broken
    assert "SIMULATED" in broken


@pytest.mark.parametrize(("told", "label"), [("about 214 °C", "estimated"), ("not known", "a guess")])
def test_a_thin_edge_has_its_line_on_paper(full_book: Logbook, tmp_path: Path, told: str, label: str) -> None:
    record = load_record(Reader(full_book.connection), 1)
    course = [[0.0, 20.0, 21.0], [60.0, 30.0, 35.0]]
    edge = replace(record, summary={"treatment": {"thin edge": told, "thin edge course": course}})
    write_chart(edge, tmp_path / "edge.svg", "svg")
    text = (tmp_path / "edge.svg").read_text()
    assert "thin edge" in text
    assert label in text


def test_no_name_of_the_legend_leaves_the_paper_nor_is_the_air_drawn_through(full_book: Logbook) -> None:
    """Judged by the library that draws: it has measured what it drew. A part in the air has no estimate."""
    record = load_record(Reader(full_book.connection), 1)
    course = [[float(t), 20.0 + t, 25.0 + t] for t in (0, 60, 120, 180, 240, 2400, 2460, 2520)]
    alarms = tuple(Event(float(n), 0.0, kind, "", {}) for n, kind in enumerate(("alarm", "adjust", "trip")))
    told = {"treatment": {"thin edge": "about", "thin edge course": course}}
    with mpl.rc_context(STYLE):
        paper = Figure(figsize=(7.1, 4.0))
        above, below = paper.add_axes((0.1, 0.3, 0.8, 0.5)), paper.add_axes((0.1, 0.1, 0.8, 0.1))
        draw(replace(record, summary=told, events=alarms), above, below)
        paper.draw_without_rendering()
        legend = above.get_legend().get_window_extent()
    assert 0.0 <= legend.x0 < legend.x1 <= paper.bbox.width
    lines = [line.get_xydata() for line in above.get_lines() if line.get_color() == "#c98a6e"]
    assert [int(np.isnan(line).any()) for line in lines] == [1]


def test_gaps_closer_than_a_hair_are_one() -> None:
    gaps = ((10.0, 14.0), (16.0, 20.0), (100.0, 101.0))
    assert merged(gaps, 5.0) == [(10.0, 20.0), (100.0, 101.0)]
    assert merged(gaps, 1.0) == list(gaps)


def test_a_thinned_curve_keeps_every_extreme() -> None:
    at = np.arange(50_000.0)
    values = np.sin(at / 700.0)
    values[12_345], values[40_001] = 9.0, -9.0
    few_at, few = thin(at, values)
    assert len(few) < 2000
    assert (few.max(), few.min()) == (9.0, -9.0)
    assert np.all(np.diff(few_at) >= 0)


def test_the_style_has_no_word_that_the_drawing_library_does_not_know() -> None:
    from matplotlib import rcParams

    assert set(STYLE) <= set(rcParams)
