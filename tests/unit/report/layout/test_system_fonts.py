"""Letters that our font lacks come from a font of the computer, so that a name in another script is printed.

STIX, which the chart library brings, stands for such a font: it has U+1D81, DejaVu Sans has not.
"""

from collections.abc import Callable
from pathlib import Path

import matplotlib as mpl
import pytest
from pypdf import PdfReader

from kilnctl.report.layout import system_fonts
from kilnctl.report.layout.document import Document, Heading, Paragraphs, Table
from kilnctl.report.layout.pdf_page import write_pdf
from kilnctl.report.layout.type_setting import families, width_pt

FONTS = Path(mpl.get_data_path()) / "fonts" / "ttf"
RARE, NOWHERE = "\u1d81", "\U00012000"
Having = Callable[..., None]


@pytest.fixture
def having(monkeypatch: pytest.MonkeyPatch) -> Having:
    """Say which fonts the computer has."""

    def have(*names: str) -> None:
        monkeypatch.setattr(system_fonts, "findSystemFonts", lambda: [str(FONTS / name) for name in names])

    return have


def test_a_font_of_the_computer_draws_what_ours_lacks(having: Having, tmp_path: Path) -> None:
    having("LastResortHE-Regular.ttf", "STIXGeneralBol.ttf", "STIXGeneral.ttf", "cmr10.ttf")
    assert system_fonts.fonts_with({RARE}) == ["STIXGeneral, STIXGeneral"]
    page = Document("p", (Heading(f"Gouge for {RARE}", RARE), Table("", (RARE, "b"), ((RARE, "2"),), (1, 1))))
    assert write_pdf(page, tmp_path / "p.pdf") == ""
    said = PdfReader(tmp_path / "p.pdf").pages[0].extract_text()
    assert said.count(RARE) == 4
    assert "Gouge for" in said
    assert families() == ("DejaVu Sans",), "the next page is drawn with our font alone"


def test_what_no_font_has_is_a_box_and_is_named(having: Having, tmp_path: Path) -> None:
    having("LastResortHE-Regular.ttf", "STIXGeneral.ttf")
    page = Document("p", (Paragraphs("Name", (f"{RARE}{NOWHERE} drawer",)),))
    assert write_pdf(page, tmp_path / "p.pdf") == NOWHERE
    having()
    assert write_pdf(page, tmp_path / "p.pdf") == RARE + NOWHERE


def test_a_font_that_cannot_be_read_is_passed_over(having: Having, tmp_path: Path) -> None:
    (tmp_path / "torn.ttf").write_bytes(b"\0\1\0\0 torn")
    having(str(tmp_path / "torn.ttf"), str(tmp_path / "gone.ttf"), "STIXGeneral.ttf")
    assert system_fonts.fonts_with({RARE}) == ["STIXGeneral, STIXGeneral"]


def test_a_line_is_as_wide_as_what_draws_it(having: Having) -> None:
    having("STIXGeneral.ttf")
    with mpl.rc_context({"font.family": ["DejaVu Sans", *system_fonts.fonts_with({RARE})]}):
        wide = width_pt(RARE, 100.0)
    from matplotlib.ft2font import FT2Font

    theirs = FT2Font(str(FONTS / "STIXGeneral.ttf"))
    theirs.set_size(100.0, 72.0)
    assert wide == pytest.approx(theirs.load_char(ord(RARE)).horiAdvance / 64.0, rel=0.25)
