"""A grid of block characters to draw in: four dots a cell, thin lines, shading, words. Knows no heat."""

from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from kilnctl.dashboard.history import Floats, pieces

Window = tuple[float, float]
BAND = "band"
# By which quarters of a cell are filled: 1 upper left, 2 upper right, 4 lower left, 8 lower right.
_BLOCKS = np.array(list(" ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"))
_QUARTERS = np.array([[1, 2], [4, 8]])


class Run(NamedTuple):
    """Characters of one look: the names of their colour and of their ground, empty for the usual one."""

    text: str
    style: str
    ground: str = ""


Row = tuple[Run, ...]


class Dots:
    """A drawing of `width` by `height` cells over a window of time and value; what comes later covers.

    A cell is two dots high, and two wide as well where the terminal is `fine`: a bare console knows halves
    only. Styles are names of the theme's colours.
    """

    def __init__(self, width: int, height: int, x: Window, y: Window, fine: bool = True) -> None:
        self.width, self.height = width, height
        self._x, self._y, self._fine = x, y, 2 if fine else 1
        self._names = [""]
        self._dots: npt.NDArray[np.uint8] = np.zeros((2 * height, self._fine * width), dtype=np.uint8)
        self._marks = np.full((height, width), " ")
        self._styles: npt.NDArray[np.uint8] = np.zeros((height, width), dtype=np.uint8)
        self._shaded = np.zeros((height, width), dtype=bool)

    def column(self, x: float) -> int:
        """Return the column of a time, kept inside."""
        share = (x - self._x[0]) / max(self._x[1] - self._x[0], 1e-9)
        return int(min(max(share * self.width, 0), self.width - 1))

    def row(self, y: float) -> int:
        """Return the row of dots of a value, kept inside; two to a cell."""
        return self._rows_of(np.array([y]))[0]

    def line(self, x: Floats, y: Floats, style: str, broken: bool = False) -> None:
        """Draw a line; a column holds its lowest and its highest value, so that no spike is lost.

        A solid one, or one `broken` in every second cell: told from a solid one by more than its colour.
        """
        ink = self._ink(style)
        for px, py in pieces(x, y):
            for column, top, bottom in self._spans(px, py, self._fine):
                if not (broken and column // self._fine % 2):
                    self._dots[top : bottom + 1, column] = ink

    def thin(self, x: Floats, y: Floats, mark: str, style: str) -> None:
        """Draw a thin line by one character a cell."""
        ink = self._ink(style)
        for px, py in pieces(x, y):
            for column, top, bottom in self._spans(px, py, 1):
                self._marks[top // 2 : bottom // 2 + 1, column] = mark
                self._styles[top // 2 : bottom // 2 + 1, column] = ink

    def shade(self, x: Floats, low: Floats, high: Floats) -> None:
        """Shade what lies between two lines."""
        if len(x) < 2:
            return
        columns = np.arange(self.column(x[0]), self.column(x[-1]) + 1)
        at = self._x[0] + (columns + 0.5) / self.width * (self._x[1] - self._x[0])
        tops, bottoms = (self._rows_of(np.interp(at, x, y)) for y in (high, low))
        for column, top, bottom in zip(columns, tops, bottoms, strict=True):
            self._shaded[top // 2 : bottom // 2 + 1, column] = True

    def words(self, column: int, row: int, text: str, style: str) -> None:
        """Write words where no solid line stands; they give way to it, letter by letter."""
        first = min(max(0, column), max(0, self.width - len(text)))
        text = text[: self.width]
        if 0 <= row < self.height and text:
            self._marks[row, first : first + len(text)] = list(text)
            self._styles[row, first : first + len(text)] = self._ink(style)

    def free(self, column: int, row: int, length: int) -> bool:
        """Return whether words could stand there without touching a solid line."""
        if not (0 <= row < self.height and column >= 0 and column + length <= self.width):
            return False
        first, last = self._fine * column, self._fine * (column + length)
        return not self._dots[2 * row : 2 * row + 2, first:last].any()

    def rows(self) -> list[Row]:
        """Return the rows from top to bottom."""
        fine = self._dots if self._fine == 2 else np.repeat(self._dots, 2, axis=1)
        quarters = fine.reshape(self.height, 2, self.width, 2).swapaxes(1, 2)
        ink = quarters.max(axis=(2, 3))
        filled = ((quarters == ink[:, :, None, None]) * _QUARTERS).sum(axis=(2, 3))
        drawn = ink > 0  # a cell shows the line that was drawn last in it
        marks = np.where(drawn, _BLOCKS[filled], self._marks)
        styles = np.where(drawn, ink, np.where(marks == " ", 0, self._styles))
        grounds = np.where(self._shaded, self._ink(BAND), 0)
        return [self._runs(*row) for row in zip(marks, styles, grounds, strict=True)]

    def _runs(self, marks: npt.NDArray[np.str_], styles: Floats, grounds: Floats) -> Row:
        cuts = np.flatnonzero((np.diff(styles) != 0) | (np.diff(grounds) != 0)) + 1
        said = "".join(marks)
        edges = [0, *cuts.tolist(), len(said)]
        return tuple(
            Run(said[a:b], self._names[int(styles[a])], self._names[int(grounds[a])])
            for a, b in pairwise(edges)
        )

    def _ink(self, style: str) -> int:
        if style not in self._names:
            self._names.append(style)
        return self._names.index(style)

    def _spans(self, x: Floats, y: Floats, fine: int) -> list[tuple[int, int, int]]:
        """Return (column, top row, bottom row) of a line without gaps, joined from column to column."""
        inside = (x >= self._x[0]) & (x <= self._x[1])
        if not inside.any():
            return []
        columns, length = fine * self.width, self._x[1] - self._x[0]
        border = np.arange(
            1, columns
        )  # each belongs to the columns on both sides, whatever its time rounds to
        edges = self._x[0] + border / columns * length
        crossed = (edges > x[0]) & (edges < x[-1])
        own = np.clip(((x[inside] - self._x[0]) / length * columns).astype(int), 0, columns - 1)
        where = np.concatenate((own, border[crossed], border[crossed] - 1))
        values = np.concatenate((y[inside], np.tile(np.interp(edges[crossed], x, y), 2)))
        low, high = np.full(columns, np.inf), np.full(columns, -np.inf)
        np.minimum.at(low, where, values)
        np.maximum.at(high, where, values)
        found = np.flatnonzero(np.isfinite(low))
        tops, bottoms = self._rows_of(high[found]), self._rows_of(low[found])
        return list(zip(found.tolist(), tops, bottoms, strict=True))

    def _rows_of(self, y: Floats) -> list[int]:
        share = (self._y[1] - y) / max(self._y[1] - self._y[0], 1e-9)
        found: list[int] = np.clip(share * 2 * self.height, 0, 2 * self.height - 1).astype(int).tolist()
        return found


def framed(rows: list[Row], ticks: dict[int, str], foot: list[Row], margin: int) -> list[Row]:
    """Return rows with an axis at the left: a label where there is one, else a thin line."""
    out = []
    for i, row in enumerate(rows):
        label = ticks.get(i, "")
        out.append((Run(f"{label:>{margin - 1}}" + ("┤" if label else "│"), "quiet"), *row))
    return [*out, *foot]
