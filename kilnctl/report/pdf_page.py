"""The one-page record as PDF: one A4 sheet, drawn with the same chart and the same words as the HTML page."""

import textwrap
from pathlib import Path

import matplotlib as mpl
from matplotlib.figure import Figure

from kilnctl.report.chart import STYLE, draw
from kilnctl.report.facts import Group, RecordFacts
from kilnctl.report.record import Record

A4_IN = (8.27, 11.69)
LEFT, RIGHT, MIDDLE = 0.07, 0.95, 0.525
LINE = 0.0118
INK, PALE, BLUE, RED = "#22262a", "#666666", "#1f3b57", "#a01010"
# Widths of the columns of the segment table as places on the page.
COLUMNS = (0.07, 0.09, 0.29, 0.46, 0.515, 0.57, 0.64, 0.735, 0.885)
NAME_CHARS, VALUE_CHARS, FULL_CHARS = 22, 46, 128
MOST_SEGMENTS = 14
# Heights as fractions of the page: the curve takes what the words leave.
MOST_CHART, LEAST_CHART, AROUND_CHART, FOOT_TOP = 0.26, 0.10, 0.125, 0.065


def _wrap(text: str, chars: int) -> list[str]:
    return textwrap.wrap(text, chars, break_on_hyphens=False)


class _Sheet:
    """Words going down a page; `y` is where the next line goes (figure fraction)."""

    def __init__(self, figure: Figure, y: float) -> None:
        self.figure, self.y = figure, y

    def text(self, x: float, text: str, colour: str = INK, size: float = 6.6, weight: str = "normal") -> None:
        self.figure.text(x, self.y, text, color=colour, fontsize=size, fontweight=weight, va="top")

    def heading(self, x: float, right: float, text: str) -> None:
        self.text(x, text, BLUE, 7.2, "bold")
        self.y -= LINE * 1.1
        rule = mpl.lines.Line2D([x, right], [self.y + 0.001] * 2, color="#d5d2c8", linewidth=0.6)
        self.figure.add_artist(rule)
        self.y -= 0.003

    def wrapped(
        self, x: float, text: str, chars: int, colour: str = INK, size: float = 6.6, weight: str = "normal"
    ) -> None:
        for line in _wrap(text, chars) or [""]:
            self.text(x, line, colour, size, weight)
            self.y -= LINE


def write_paper(record: Record, said: RecordFacts, path: Path) -> None:
    """Write the one-page record as PDF. Raises OSError."""
    with mpl.rc_context(STYLE):
        figure = Figure(figsize=A4_IN)
        sheet = _Sheet(figure, 0.965)
        _head(sheet, said)
        _chart(record, figure, sheet, _room(said, sheet.y))
        _words(sheet, said)
        _foot(figure, said)
        about = {"Title": said.title, "Creator": "kilnctl", "CreationDate": None}
        figure.savefig(path, format="pdf", metadata=about)


def _head(sheet: _Sheet, said: RecordFacts) -> None:
    sheet.text(LEFT, said.title, INK, 14, "bold")
    sheet.y -= 0.024
    sheet.text(LEFT, said.subtitle, PALE, 8)
    sheet.y -= 0.020
    if said.marks:
        sheet.text(LEFT, " · ".join(said.marks), RED, 9, "bold")
        sheet.y -= 0.015
        sheet.wrapped(LEFT, " ".join(said.why_marked), FULL_CHARS, RED)


def _room(said: RecordFacts, below: float) -> float:
    """Return the height left for the curve when all the words have been laid out on a sheet of scrap."""
    scrap = _Sheet(Figure(figsize=A4_IN), below)
    _words(scrap, said)
    return max(LEAST_CHART, min(MOST_CHART, scrap.y - FOOT_TOP - AROUND_CHART))


def _chart(record: Record, figure: Figure, sheet: _Sheet, height: float) -> None:
    top = sheet.y - 0.030
    temperature = figure.add_axes((LEFT + 0.04, top - height, 0.79, height))
    duty = figure.add_axes((LEFT + 0.04, top - height - 0.045, 0.79, 0.035), sharex=temperature)
    draw(record, temperature, duty)
    sheet.y -= height + AROUND_CHART


def _words(sheet: _Sheet, said: RecordFacts) -> None:
    _segments(sheet, said.table)
    _groups(sheet, said)


def _segments(sheet: _Sheet, table: tuple[tuple[str, ...], ...]) -> None:
    sheet.heading(LEFT, RIGHT, "Segments, asked and achieved")
    for place, row in enumerate(table[: MOST_SEGMENTS + 1]):
        for x, cell in zip(COLUMNS, row, strict=True):
            sheet.text(x, textwrap.shorten(cell, 34, placeholder="…"), PALE if place == 0 else INK)
        sheet.y -= LINE
    if len(table) > MOST_SEGMENTS + 1:
        sheet.text(
            LEFT, f"and {len(table) - MOST_SEGMENTS - 1} more segments; the html page has all of them", PALE
        )
        sheet.y -= LINE
    sheet.y -= 0.008


def _groups(sheet: _Sheet, said: RecordFacts) -> None:
    """Lay the groups out in two columns, each where there is more room."""
    left, right = _Sheet(sheet.figure, sheet.y), _Sheet(sheet.figure, sheet.y)
    missing = Group("Not measured", (("", "; ".join(said.not_measured) + "."),))
    for group in (*said.groups, missing):
        column, x = (left, LEFT) if left.y >= right.y else (right, MIDDLE)
        _group(column, x, group)
    sheet.y = min(left.y, right.y)


def _group(sheet: _Sheet, x: float, group: Group) -> None:
    sheet.heading(x, x + 0.425, group.title)
    for name, value in group.rows:
        wide = name == ""
        names = _wrap(name, NAME_CHARS) or [""]
        values = _wrap(value, VALUE_CHARS + NAME_CHARS if wide else VALUE_CHARS) or [""]
        for i in range(max(len(names), len(values))):
            sheet.text(x, names[i] if i < len(names) else "", PALE)
            sheet.text(x if wide else x + 0.135, values[i] if i < len(values) else "")
            sheet.y -= LINE
    sheet.y -= 0.008


def _foot(figure: Figure, said: RecordFacts) -> None:
    lines = [(said.footer[0], "bold"), *((line, "normal") for line in said.footer[1:])]
    height = sum(len(_wrap(text, FULL_CHARS + 12)) for text, _ in lines) * LINE
    sheet = _Sheet(figure, 0.028 + height)
    for text, weight in lines:
        sheet.wrapped(LEFT, text, FULL_CHARS + 12, PALE if weight == "normal" else INK, 6.0, weight)
