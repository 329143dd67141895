"""A document as PDF: A4 sheets, nothing smaller than nine points."""

import io
from dataclasses import replace
from functools import lru_cache
from itertools import zip_longest
from pathlib import Path
from typing import Any

import matplotlib as mpl
from fontTools import subset
from matplotlib.artist import Artist
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.image import imread

from kilnctl.report.layout.document import (
    Block,
    Chart,
    Document,
    Heading,
    Lead,
    Overleaf,
    Pairs,
    Paragraphs,
    Table,
    Warned,
)
from kilnctl.report.layout.pdf_language import set_language
from kilnctl.report.layout.style import RED
from kilnctl.report.layout.type_setting import broken_at, draw_with_fonts, families, texts_of, width_pt

A4_PT = (595.0, 842.0)
MARGIN, FOOT = 42.0, 40.0
WIDTH = A4_PT[0] - 2 * MARGIN
LEAD = 1.32
INK, PALE, BLUE, RULE = "#22262a", "#5c5c5c", "#1f3b57", "#cfccc2"
# Inside a chart's place: room for the scale, the names above and the clock below.
CHART_LEFT, CHART_RIGHT, CHART_TOP, CHART_FOOT = 42.0, 42.0, 44.0, 34.0
CLOSER = ((0.0, 0.8), (0.5, 0.8), (1.0, 0.7))  # points taken off, and the share of a chart's height
AIR, AFTER_RIGHT = 6.0, 16.0  # between columns: what is set to the right must not touch what follows
DUTY_HIGH, NAME_SHARE, MARK_HIGH, BETWEEN, INDENT = 26.0, 0.27, 34.0, 8.0, 20.0

# How a typesetter would place glyphs. In a PDF each has its place already, and reading these tables was a
# quarter of what a page costs. Where the library has no such list any more, a page only takes longer.
getattr(subset.Options, "_drop_tables_default", []).extend(("GPOS", "GSUB", "GDEF", "BASE", "MATH"))


def write_pdf(document: Document, path: Path) -> str:
    """Write a document as PDF and return the letters that are boxes in it. Raises OSError."""
    about: dict[str, Any] = {"Title": document.name, "Creator": "kilnctl", "CreationDate": None}
    for block in document.blocks:
        if isinstance(block, Heading):
            about |= {"Author": block.workshop or "kilnctl", "Subject": block.title}

    def draw() -> list[str]:
        paper = _laid(document)
        with PdfPages(path, metadata=about) as pdf:
            for figure in paper.sheets():
                pdf.savefig(figure)
        return paper.texts()

    lacking = draw_with_fonts(draw)
    set_language(path)
    return lacking


def _laid(document: Document) -> "_Paper":
    """Return the sheets of a document; one that is to be a single sheet is set closer until it is.

    Where even the closest takes more, nothing is set smaller for it.
    """
    wide = _filled(document, 0.0, 1.0)
    if len(wide.figures) == 1 or not document.one_sheet:
        return wide
    closer = (_filled(document, smaller_pt, share) for smaller_pt, share in CLOSER)
    return next((paper for paper in closer if len(paper.figures) == 1), wide)


def _filled(document: Document, smaller_pt: float, share: float) -> "_Paper":
    paper = _Paper(replace(document, points=document.points - smaller_pt))
    for block in document.blocks:
        paper.put(replace(block, high_pt=block.high_pt * share) if isinstance(block, Chart) else block)
    return paper


class _Written(Artist):
    """The words of a sheet. They are measured already: the library would lay each of them out twice again."""

    def __init__(self) -> None:
        super().__init__()
        self.pieces: list[tuple[float, float, str, str, float, str]] = []

    def draw(self, renderer: Any) -> None:
        """Give every piece to the file, its place in points from the lower left corner."""
        graphics = renderer.new_gc()
        for x, y, text, colour, size, weight in self.pieces:
            graphics.set_foreground(colour)
            renderer.draw_text(graphics, x, y, text, _font(size, weight, families()), 0.0)
        graphics.restore()


@lru_cache
def _font(size: float, weight: str, names: tuple[str, ...]) -> FontProperties:
    return FontProperties(family=list(names), size=size, weight=weight)


class _Paper:
    """Sheets of paper that fill from above; `y` is how much of the last one is left, in points."""

    def __init__(self, document: Document) -> None:
        self.document, self.size = document, document.points
        self.figures: list[Figure] = []
        self.written: list[_Written] = []
        self.turn()

    def turn(self) -> None:
        """Begin a new sheet."""
        self.figures.append(Figure(figsize=(A4_PT[0] / 72.0, A4_PT[1] / 72.0)))
        self.written.append(_Written())
        self.figures[-1].add_artist(self.written[-1])
        self.y = A4_PT[1] - MARGIN

    def room(self, high: float) -> None:
        """Begin a new sheet where the last has less room than this."""
        if self.y - high < FOOT + MARGIN * 0.4 and self.y < A4_PT[1] - MARGIN:
            self.turn()

    def sheets(self) -> list[Figure]:
        """Return the sheets, each with its foot."""
        for number, sheet in enumerate(self.written, 1):
            page = f"page {number} of {len(self.figures)}"
            self._at(sheet, MARGIN, FOOT, self.document.foot, PALE, 9.0)
            across = width_pt(page, 9.0)
            self._at(sheet, A4_PT[0] - MARGIN - across, FOOT, page, PALE, 9.0)
        return self.figures

    def texts(self) -> list[str]:
        """Return all that is written on the sheets, in the charts too."""
        words = [piece[2] for sheet in self.written for piece in sheet.pieces]
        return [*words, *(text for figure in self.figures for text in texts_of(figure))]

    def put(self, block: Block) -> None:
        """Put a block below what is there."""
        match block:
            case Heading():
                self._heading(block)
            case Lead():
                self._lines(block.text, WIDTH, self.size + 2.0, INK if block.good else RED, "bold")
                self.y -= BETWEEN
            case Warned():
                mark = block.mark if block.mark.endswith(":") else f"{block.mark}."
                self._lines(f"{mark} {block.why}".strip(), WIDTH, self.size, RED, "bold")
                self.y -= BETWEEN
            case Chart():
                self._chart(block)
            case Table():
                self._table(block)
            case Pairs():
                self._pairs(block)
            case Paragraphs():
                self._words(block)
            case Overleaf():
                self.turn()

    @staticmethod
    def _at(
        sheet: _Written, x: float, y: float, text: str, colour: str, size: float, weight: str = "normal"
    ) -> None:
        sheet.pieces.append((x, y, text, colour, size, weight))

    def _line(self, x: float, text: str, size: float, colour: str = INK, weight: str = "normal") -> None:
        self._at(self.written[-1], x, self.y - size, text, colour, size, weight)

    def _lines(self, text: str, wide: float, size: float, colour: str, weight: str = "normal") -> None:
        for line in broken_at(text, wide, size, weight):
            self.room(size * LEAD)
            self._line(MARGIN, line, size, colour, weight)
            self.y -= size * LEAD

    def _rule(self) -> None:
        across = [MARGIN / A4_PT[0], 1.0 - MARGIN / A4_PT[0]]
        line = mpl.lines.Line2D(across, [self.y / A4_PT[1]] * 2, color=RULE, linewidth=0.7)
        self.figures[-1].add_artist(line)
        self.y -= 3.0

    def _title(self, title: str, below: float) -> None:
        self.room(self.size * LEAD + 5.0 + below)
        self._line(MARGIN, title, self.size + 1.0, BLUE, "bold")
        self.y -= (self.size + 1.0) * LEAD
        self._rule()

    def _heading(self, block: Heading) -> None:
        top = self.y
        if block.mark:
            self._mark(block.mark)
        wide = WIDTH - (120.0 if block.mark else 0.0)
        if block.workshop:
            self._lines(block.workshop, wide, 9.0, BLUE)
        self._lines(block.title, wide, 17.0, INK, "bold")
        self._lines(block.below, wide, self.size, PALE)
        self.y = min(self.y, top - MARK_HIGH - 2.0) if block.mark else self.y
        self.y -= BETWEEN * 0.5

    def _mark(self, png: bytes) -> None:
        """Print the workshop's mark at the top right, as high as three lines and as wide as it comes."""
        picture = imread(io.BytesIO(png))
        wide = min(110.0, MARK_HIGH * picture.shape[1] / picture.shape[0])
        left, low = A4_PT[0] - MARGIN - wide, self.y - MARK_HIGH
        place = (left / A4_PT[0], low / A4_PT[1], wide / A4_PT[0], MARK_HIGH / A4_PT[1])
        axes = self.figures[-1].add_axes(place)
        axes.imshow(picture, interpolation="lanczos")
        axes.axis("off")

    def _chart(self, block: Chart) -> None:
        self.room(block.high_pt)
        left, wide = MARGIN + CHART_LEFT, WIDTH - CHART_LEFT - CHART_RIGHT
        below = 0.0 if block.one else DUTY_HIGH + 8.0
        low, high = self.y - block.high_pt + CHART_FOOT, block.high_pt - CHART_FOOT - CHART_TOP - below

        def place(y: float, tall: float) -> tuple[float, float, float, float]:
            return left / A4_PT[0], y / A4_PT[1], wide / A4_PT[0], tall / A4_PT[1]

        above = self.figures[-1].add_axes(place(low + below, high))
        block.draw(
            above,
            None if block.one else self.figures[-1].add_axes(place(low, DUTY_HIGH), sharex=above),
        )
        self.y -= block.high_pt + BETWEEN * 0.5

    def _table(self, block: Table) -> None:
        if block.title:
            self._title(block.title, self.size * LEAD * 3.0)
        self._row(block, block.head, PALE)
        self._rule()
        for row, below in zip_longest(block.rows, block.below, fillvalue=""):
            self._row(block, tuple(row), INK)
            self._below(below)
            if block.ruled:
                self._rule()
        self.y -= BETWEEN

    def _below(self, text: str) -> None:
        for line in broken_at(text, WIDTH - INDENT, self.size) if text else ():
            self.room(self.size * LEAD)
            self._line(MARGIN + INDENT, line, self.size)
            self.y -= self.size * LEAD

    def _row(self, block: Table, cells: tuple[str, ...], colour: str) -> None:
        wide = [share * WIDTH / sum(block.widths) for share in block.widths]
        laid = [broken_at(cell, w - AIR, self.size) for cell, w in zip(cells, wide, strict=True)]
        tall = max(map(len, laid))
        self.room(tall * self.size * LEAD)
        for deep in range(tall):
            x = MARGIN
            for column, (lines, w) in enumerate(zip(laid, wide, strict=True)):
                text = lines[deep] if deep < len(lines) else ""
                if text:
                    self._line(x + self._indent(block, column, w, text), text, self.size, colour)
                x += w
            self.y -= self.size * LEAD

    def _indent(self, block: Table, column: int, wide: float, text: str) -> float:
        """Return how far in a text begins: what is set to the right must not touch what follows it."""
        if column not in block.right:
            return 0.0
        air = AIR if column + 1 in block.right else AFTER_RIGHT
        return max(0.0, wide - air - width_pt(text, self.size))

    def _pairs(self, block: Pairs) -> None:
        self._title(block.title, self.size * LEAD * 2.0)
        for name, value in block.rows:
            indent = NAME_SHARE * WIDTH if name else 0.0
            names = broken_at(name, NAME_SHARE * WIDTH - 8.0, self.size)
            values = broken_at(value, WIDTH - indent, self.size)
            for deep in range(max(len(names), len(values))):
                self.room(self.size * LEAD)
                self._line(MARGIN, names[deep] if deep < len(names) else "", self.size, PALE)
                self._line(MARGIN + indent, values[deep] if deep < len(values) else "", self.size)
                self.y -= self.size * LEAD
        self.y -= BETWEEN

    def _words(self, block: Paragraphs) -> None:
        if block.title:
            self._title(block.title, self.size * LEAD)
        for line in block.lines:
            self._lines(line, WIDTH, self.size, PALE if block.small else INK)
        self.y -= BETWEEN
