"""A document for a terminal: what the pages say, in aligned columns; charts are left out."""

from typing import Any

from rich import box
from rich.console import Console
from rich.table import Table as RichTable
from rich.text import Text

from kilnctl.config.preferences import as_chosen
from kilnctl.report.layout.document import Block, Document, Heading, Lead, Pairs, Paragraphs, Table, Warned

NAME_WIDE = 24


class PageConsole(Console):
    """A console for whole pages: every text is laid out in the units that the person chose."""

    def __init__(self, width: int | None = None, *, soft_wrap: bool = False) -> None:
        super().__init__(width=width, highlight=False, markup=False, soft_wrap=soft_wrap)
        self.chosen = as_chosen()

    def render_str(self, text: str, **options: Any) -> Text:
        """Return a text as rich lays it out, in the chosen units."""
        return super().render_str(self.chosen(text), **options)


def print_document(document: Document, width: int = 80) -> None:
    """Print a document to the terminal, no wider than asked."""
    out = PageConsole(width)
    for block in document.blocks:
        _print(out, block)


def _print(out: PageConsole, block: Block) -> None:
    match block:
        case Heading():
            out.print(block.title, style="bold")
            out.print(block.below)
        case Lead():
            out.print(block.text, style="bold" if block.good else "bold red")
        case Warned():
            out.print(f"{block.mark}: {block.why}" if block.why else block.mark, style="bold red")
        case Table():
            out.print(f"\n{block.title}", style="bold")
            out.print(_table(block))
        case Pairs():
            out.print(f"\n{block.title}", style="bold")
            for name, value in block.rows:
                out.print(f"  {name:<{NAME_WIDE}}  {value}" if name else f"  {value}", soft_wrap=False)
        case Paragraphs():
            if block.title:
                out.print(f"\n{block.title}", style="bold")
            for line in block.lines:
                out.print(line)


def _table(block: Table) -> RichTable:
    made = RichTable(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0))
    for n, name in enumerate(block.head):
        made.add_column(name, justify="right" if n in block.right else "left", overflow="fold")
    for row in block.rows:
        made.add_row(*row)
    return made
