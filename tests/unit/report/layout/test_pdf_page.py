"""A sheet of paper: nothing too small, nothing off it."""

from pathlib import Path

from heats import START_UTC, TWO_SEGMENTS, header, temper
from printed_pages import paper_text, printed

from kilnctl.logbook.writer import Event, Logbook

DAY_S = 86_400.0


def test_nothing_is_smaller_than_nine_points_or_off_the_sheet(full_book: Logbook, tmp_path: Path) -> None:
    run = full_book.start_run(header(profile=TWO_SEGMENTS, part="gouge 7", simulated=False))
    many = [Event(float(i), START_UTC, "alarm", "far behind its set-point " * 4) for i in range(9)]
    full_book.append(run, temper()[:200], many)
    for number in (1, run):
        paper_text(full_book, number, tmp_path)
        seen = printed(tmp_path / "page.pdf")
        assert len(seen) > 100
        assert [words for *_, size, words in seen if size < 9.0] == []
        assert all(0.0 < x < 595.0 and 0.0 < y < 842.0 for x, y, *_ in seen)
