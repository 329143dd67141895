"""A steel card as a page of the same look as a record: every number with its source."""

from kilnctl.cli.plan.steel.steel_card_page import (
    card_rows,
    computed_lines,
    last_lines,
    said_of,
    source_marks,
)
from kilnctl.config.preferences import as_chosen
from kilnctl.report.layout.document import Block, Document, Heading, Pairs, Paragraphs, Table
from kilnctl.report.workshop import Workshop
from kilnctl.treatment.steel.sourced_values import PLAIN_SOURCES
from kilnctl.treatment.steel.steels import Steel, TemperTable
from kilnctl.treatment.steel.temper.temper_floor import cold_mark
from kilnctl.units import f_from_c

HEAD, WIDTHS = ("what", "value", "source"), (15.0, 77.0, 8.0)
TEMPER_HEAD, TEMPER_WIDTHS = ("tempered at", "", "HRC"), (14.0, 14.0, 72.0)


def steel_page(card: Steel, shop: Workshop) -> Document:
    """Return a steel card as a document, in the units that were chosen."""
    marks, chosen = source_marks(card), as_chosen()
    title = " · ".join((card.grade, *card.also_called))
    rows = tuple(
        (what, chosen(said_of(value, claim)), marks[claim.source]) for what, value, claim in card_rows(card)
    )
    computed = tuple(chosen(line) for text in computed_lines(card) for line in text.split("\n"))
    sources = ((f"({mark})", card.sources.get(name) or PLAIN_SOURCES[name]) for name, mark in marks.items())
    blocks: tuple[Block, ...] = (
        Heading(title, f"{card.kind}; {card.use}", shop.words, shop.mark),
        Table("Card", HEAD, rows, WIDTHS, right=(2,)),
        *(_ladder(ladder, marks[ladder.source]) for ladder in card.temper_table),
        *((Paragraphs("Computed", computed),) if computed else ()),
        Pairs("Sources", tuple(sources)),
        Paragraphs("", tuple(chosen(line) for line in last_lines(card))),
    )
    return Document(f"Steel card: {card.grade}", blocks, f"Steel card: {card.grade}")


def _ladder(ladder: TemperTable, mark: str) -> Table:
    rows = tuple(
        (f"{r.at_c:.0f} °C", f"{f_from_c(r.at_c):.0f} °F", _hrc(*r.hrc) + cold_mark(r.at_c))
        for r in ladder.row
    )
    return Table(f"Temper and hardness ({mark}): {ladder.condition}", TEMPER_HEAD, rows, TEMPER_WIDTHS)


def _hrc(low: float, high: float) -> str:
    return f"{low:g}" if low == high else f"{low:g}–{high:g}"
