"""A sheet of paper: nothing too small, nothing off it."""

from pathlib import Path

from heats import START_UTC, TWO_SEGMENTS, header, temper
from printed_pages import paper_text, printed
from pypdf import PdfReader

from kilnctl.logbook.writer import Event, Logbook
from kilnctl.report.layout.document import Document, Paragraphs, Table
from kilnctl.report.layout.pdf_page import write_pdf

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


def test_what_hangs_on_a_wall_is_one_sheet_where_the_type_allows_it(tmp_path: Path) -> None:
    """The card of three gouges once had two lines on a second sheet."""
    words = Paragraphs("Steps", tuple(f"{n}: heat it, soak it, quench it" for n in range(56)))
    for one_sheet, sheets in ((False, 2), (True, 1)):
        write_pdf(Document("card", (words,), points=10.0, one_sheet=one_sheet), tmp_path / "card.pdf")
        assert len(PdfReader(tmp_path / "card.pdf").pages) == sheets
    assert min(size for *_, size, _ in printed(tmp_path / "card.pdf")) >= 9.0


def test_what_takes_two_sheets_all_the_same_is_not_set_smaller(tmp_path: Path) -> None:
    """The card of six gouges once had its curve pressed flat, alone on a second sheet."""
    words = Paragraphs("Steps", tuple(f"{n}: heat it, soak it, quench it" for n in range(75)))
    pages = []
    for one_sheet in (False, True):
        write_pdf(Document("card", (words,), points=10.0, one_sheet=one_sheet), tmp_path / "card.pdf")
        pages.append(printed(tmp_path / "card.pdf"))
    assert pages[0] == pages[1]


def test_a_column_set_to_the_right_does_not_touch_the_next(tmp_path: Path) -> None:
    """On the card "1472" and "1 h 57 min" read as one number. Widths as the PDF reader's own font says."""
    table = Table("", ("°F", "takes"), (("1472", "1 h 57 min"),), (9.0, 20.0), right=(0,))
    write_pdf(Document("card", (table,)), tmp_path / "card.pdf")
    found = {words: x for x, _, _, words in printed(tmp_path / "card.pdf")}
    assert found["1 h 57 min"] - found["1472"] > 4 * 0.64 * 9.0 + 9.0  # digits of 0.64 em, then a whole em
