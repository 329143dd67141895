"""A grid of half blocks to draw in: two dots a cell, thin lines, shading, words. Knows no heat."""

import numpy as np
from textual.content import Content

from kilnctl.dashboard.drawing.text_layout import lines, text
from kilnctl.dashboard.history import Floats, pieces

Window = tuple[float, float]
Cell = tuple[str, str]


class Dots:
    """A drawing of `width` by `height` cells over a window of time and value.

    What is drawn later covers. Styles are names of the theme's colours.
    """

    def __init__(self, width: int, height: int, x: Window, y: Window) -> None:
        self.width, self.height = width, height
        self._x, self._y = x, y
        self._dots: list[list[str]] = [[""] * width for _ in range(2 * height)]
        self._thin: list[list[Cell]] = [[("", "")] * width for _ in range(height)]
        self._shaded = np.zeros((height, width), dtype=bool)

    def column(self, x: float) -> int:
        """Return the column of a time, kept inside."""
        share = (x - self._x[0]) / max(self._x[1] - self._x[0], 1e-9)
        return int(min(max(share * self.width, 0), self.width - 1))

    def row(self, y: float) -> int:
        """Return the row of dots of a value, kept inside; two to a cell."""
        share = (self._y[1] - y) / max(self._y[1] - self._y[0], 1e-9)
        return int(min(max(share * 2 * self.height, 0), 2 * self.height - 1))

    def line(self, x: Floats, y: Floats, style: str) -> None:
        """Draw a solid line; a column holds its lowest and its highest value, so that no spike is lost."""
        for px, py in pieces(x, y):
            for column, top, bottom in self._spans(px, py):
                for row in range(top, bottom + 1):
                    self._dots[row][column] = style

    def thin(self, x: Floats, y: Floats, mark: str, style: str) -> None:
        """Draw a thin line by one character a cell."""
        for px, py in pieces(x, y):
            for column, top, bottom in self._spans(px, py):
                for row in range(top // 2, bottom // 2 + 1):
                    self._thin[row][column] = (mark, style)

    def shade(self, x: Floats, low: Floats, high: Floats) -> None:
        """Shade what lies between two lines."""
        if len(x) < 2:
            return
        for column in range(self.column(x[0]), self.column(x[-1]) + 1):
            at = self._x[0] + (column + 0.5) / self.width * (self._x[1] - self._x[0])
            top, bottom = self.row(float(np.interp(at, x, high))), self.row(float(np.interp(at, x, low)))
            self._shaded[top // 2 : bottom // 2 + 1, column] = True

    def words(self, column: int, row: int, said: str, style: str) -> None:
        """Write words where no solid line stands; they give way to it, letter by letter."""
        first = min(max(0, column), max(0, self.width - len(said)))
        for i, letter in enumerate(said[: self.width]):
            if 0 <= row < self.height:
                self._thin[row][first + i] = (letter, style)

    def free(self, column: int, row: int, length: int) -> bool:
        """Return whether words could stand there without touching a solid line."""
        if not (0 <= row < self.height and column >= 0 and column + length <= self.width):
            return False
        return not any(
            self._dots[r][c] for r in (2 * row, 2 * row + 1) for c in range(column, column + length)
        )

    def content(self, style_of: "dict[str, str]") -> list[Content]:
        """Return the rows. `style_of` turns names into styles."""
        return [self._row(row, style_of) for row in range(self.height)]

    def _row(self, row: int, style_of: "dict[str, str]") -> Content:
        parts: list[Cell] = []
        for column in range(self.width):
            mark, style = self._cell(row, column, style_of)
            if parts and parts[-1][1] == style:
                parts[-1] = (parts[-1][0] + mark, style)
            else:
                parts.append((mark, style))
        return text(*parts)

    def _cell(self, row: int, column: int, style_of: "dict[str, str]") -> Cell:
        upper, lower = self._dots[2 * row][column], self._dots[2 * row + 1][column]
        ground = f" on {style_of['band']}" if self._shaded[row, column] else ""
        if upper and lower:
            return (
                ("█", style_of[upper]) if upper == lower else ("▀", f"{style_of[upper]} on {style_of[lower]}")
            )
        if upper or lower:
            return "▀" if upper else "▄", style_of[upper or lower] + ground
        mark, style = self._thin[row][column]
        return (mark or " "), (style_of[style] if style else "") + ground

    def _spans(self, x: Floats, y: Floats) -> list[tuple[int, int, int]]:
        """Return (column, top row, bottom row) of a line without gaps, joined from column to column."""
        inside = (x >= self._x[0]) & (x <= self._x[1])
        if not inside.any():
            return []
        edges = np.linspace(self._x[0], self._x[1], self.width + 1)
        edges = edges[(edges > x[0]) & (edges < x[-1])]
        at = np.concatenate((x[inside], edges, edges - 1e-6 * (self._x[1] - self._x[0])))
        values = np.interp(at, x, y)
        share = (at - self._x[0]) / (self._x[1] - self._x[0])
        columns = np.clip((share * self.width).astype(int), 0, self.width - 1)
        low, high = np.full(self.width, np.inf), np.full(self.width, -np.inf)
        np.minimum.at(low, columns, values)
        np.maximum.at(high, columns, values)
        return [(int(c), self.row(high[c]), self.row(low[c])) for c in np.flatnonzero(np.isfinite(low))]


def framed(rows: list[Content], ticks: dict[int, str], foot: list[Content], margin: int) -> Content:
    """Return rows with an axis at the left: a label where there is one, else a thin line."""
    out = []
    for i, row in enumerate(rows):
        label = ticks.get(i, "")
        axis = (f"{label:>{margin - 1}}" + ("┤" if label else "│"), "$quiet")
        out.append(Content("").join([text(axis), row]))
    return lines([*out, *foot])
