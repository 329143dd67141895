"""A page as blocks of words, tables and one chart; html_page.py and pdf_page.py decide how they look."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

Rows = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Heading:
    """The head of a page: whose workshop, the title, a line below it, and a mark as a picture (PNG bytes)."""

    title: str
    below: str = ""
    workshop: str = ""
    mark: bytes = b""


@dataclass(frozen=True, slots=True)
class Lead:
    """The one sentence that a page is read for; `good` is False where something is not as asked."""

    text: str
    good: bool = True


@dataclass(frozen=True, slots=True)
class Warned:
    """Paragraphs that must not be missed: what mark the page carries, and why."""

    mark: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart: `draw` draws it into axes above and below (`one`: above only); `svg` is for a screen."""

    draw: Callable[[Any, Any], object]
    svg: Callable[[], str]
    one: bool = False
    high_pt: float = 235.0


@dataclass(frozen=True, slots=True)
class Table:
    """Rows below a head; `widths` are shares of the page, `right` the columns that are set to the right.

    `below` has words for the whole width below each row. `ruled` draws a line below each, to write on.
    """

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    right: tuple[int, ...] = ()
    ruled: bool = False
    below: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Pairs:
    """Names and values below a title; an empty name gives the value the whole width."""

    title: str
    rows: Rows


@dataclass(frozen=True, slots=True)
class Paragraphs:
    """Sentences below a title, each in a paragraph of its own; `small` for what is only to be looked up."""

    title: str
    lines: tuple[str, ...]
    small: bool = False


@dataclass(frozen=True, slots=True)
class Overleaf:
    """From here on the back of the sheet."""


Block = Heading | Lead | Warned | Chart | Table | Pairs | Paragraphs | Overleaf


@dataclass(frozen=True, slots=True)
class Document:
    """A page: its name, its blocks in order, and the line at the foot of every sheet.

    One that is for a wall is `one_sheet`: type and chart are set smaller until it is, down to nine points.
    """

    name: str
    blocks: tuple[Block, ...]
    foot: str = ""
    points: float = 9.0
    one_sheet: bool = False
