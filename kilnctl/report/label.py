"""A label for the part itself: what it is, what was done to it, how hard it is, which record says more."""

import io
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from matplotlib.figure import Figure
from matplotlib.image import imread

from kilnctl.clock import say_day
from kilnctl.report.achieved import achieved
from kilnctl.report.layout.style import RED, UNDATED
from kilnctl.report.layout.type_setting import broken_at, draw_with_fonts, texts_of
from kilnctl.report.record import Record
from kilnctl.report.treatment_words import subject, treatment, verdict
from kilnctl.report.workshop import Workshop

MM_PT = 72.0 / 25.4
MARGIN_MM, LEAD, INK = 3.0, 1.28, "#000000"
LARGER_PT = (3.0, 2.0, 1.0, 0.0)


@dataclass(frozen=True, slots=True)
class Stock:
    """What a label is printed on: width and height in mm (None: endless), title and text in points."""

    wide_mm: float
    high_mm: float | None
    title_pt: float
    text_pt: float


@dataclass(frozen=True, slots=True)
class Said:
    """What the logbook says of a part beside its curve: its hardness, and what was not as asked."""

    hardness: str = ""
    amiss: tuple[str, ...] = ()


# The endless paper of small label printers, and a sheet of ISO 216.
STOCKS = {"62mm": Stock(62.0, None, 13.0, 9.0), "a7": Stock(105.0, 74.0, 20.0, 11.0)}
Line = tuple[str, float, str, str]


def write_label(record: Record, about: Said, shop: Workshop, stock: Stock, path: Path, kind: str) -> str:
    """Write a label as pdf or png and return the letters that are boxes on it. Raises OSError."""
    return draw_with_fonts(lambda: _write_label(record, about, shop, stock, path, kind))


def _write_label(
    record: Record, about: Said, shop: Workshop, stock: Stock, path: Path, kind: str
) -> list[str]:
    mark_pt = 0.0 if not shop.mark else stock.title_pt * 2.2
    lines, needed = _set(record, about, shop, stock, mark_pt)
    wide, high = stock.wide_mm * MM_PT, needed if stock.high_mm is None else stock.high_mm * MM_PT
    figure = Figure(figsize=(wide / 72.0, high / 72.0))
    y = high - MARGIN_MM * MM_PT
    if shop.mark:
        _mark(figure, shop.mark, y, mark_pt, wide, high)
        y -= mark_pt
    for text, size, colour, weight in lines:
        if y - size < MARGIN_MM * MM_PT - 1.0:
            break  # the least comes last
        where = (MARGIN_MM * MM_PT / wide, (y - size) / high)
        figure.text(*where, text.replace("$", r"\$"), fontsize=size, color=colour, fontweight=weight)
        y -= size * LEAD
    metadata: dict[str, Any] = UNDATED.get(kind, {})
    figure.savefig(path, format=kind, dpi=300, metadata=metadata)
    return texts_of(figure)


def _set(
    record: Record, about: Said, shop: Workshop, stock: Stock, mark_pt: float
) -> tuple[list[Line], float]:
    """Return the lines and how high they are; on a label of a fixed height as large as they fit."""
    for larger_pt in LARGER_PT if stock.high_mm is not None else (0.0,):
        lines = _lines(record, about, shop, replace(stock, text_pt=stock.text_pt + larger_pt))
        needed = sum(size * LEAD for _, size, _, _ in lines) + mark_pt + 2 * MARGIN_MM * MM_PT
        if stock.high_mm is None or needed <= stock.high_mm * MM_PT:
            break
    return lines, needed


def _title_pt(title: str, room: float, stock: Stock) -> float:
    """Return the size at which the title is one line, where that is not much smaller than meant."""
    sizes = [stock.title_pt - step * 0.5 for step in range(int(stock.title_pt * 0.5) + 1)]
    fit = (size for size in sizes if len(broken_at(title, room, size, "bold")) == 1)
    return next((size for size in fit if size >= 0.75 * stock.title_pt), stock.title_pt)


def _mark(figure: Figure, png: bytes, y: float, tall: float, wide: float, high: float) -> None:
    axes = figure.add_axes(
        (MARGIN_MM * MM_PT / wide, (y - tall + 2.0) / high, 0.5, (tall - 2.0) / high), anchor="W"
    )
    axes.imshow(imread(io.BytesIO(png)), interpolation="lanczos")
    axes.axis("off")


def _lines(record: Record, about: Said, shop: Workshop, stock: Stock) -> list[Line]:
    """Return what the label says, broken to its width; a label of a fixed height leaves out the least."""
    info, room = record.info, (stock.wide_mm - 2 * MARGIN_MM) * MM_PT
    said, good = verdict(record, achieved(record), about.amiss)
    done = treatment(record.profile)
    title = subject(record) if info.part or not info.steel else f"Steel {info.steel}"
    found: list[tuple[str, float, str, str]] = [(title, _title_pt(title, room, stock), INK, "bold")]
    found += [(mark, stock.text_pt + 2, RED, "bold") for mark in (" · ".join(record.marks),) if mark]
    found += [(said, stock.text_pt, RED, "bold")] if not good else []
    found += [(f"{done[:1].upper()}{done[1:]}", stock.text_pt, INK, "normal")] if good else []
    found += [(about.hardness, stock.text_pt, INK, "bold")] if about.hardness else []
    found += [
        (f"{say_day(info.started_utc)} · run {info.run}", stock.text_pt, INK, "normal"),
        (f"record {record.verdict.short}", stock.text_pt, INK, "normal"),
    ]
    found += [(shop.words, stock.text_pt, INK, "normal")] if shop.words else []
    return [
        (line, size, colour, weight)
        for text, size, colour, weight in found
        for line in broken_at(text, room, size, weight)
    ]
