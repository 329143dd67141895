"""A document as HTML: one file, nothing fetched, readable on a telephone, printed on A4."""

import base64
from html import escape
from itertools import zip_longest
from pathlib import Path

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
from kilnctl.report.layout.units_held import with_units_held

_STYLE = """
@page { size: A4; margin: 14mm }
* { box-sizing: border-box }
body { font: 15px/1.45 system-ui, "DejaVu Sans", Arial, sans-serif; color: #22262a;
  background: #eceae4; margin: 0 }
main { max-width: 940px; margin: 18px auto; background: #fff; padding: 28px 36px }
h1 { font-size: 28px; line-height: 1.2; margin: 0; font-weight: 650 }
h2 { font-size: 16px; margin: 22px 0 4px; color: #1f3b57; border-bottom: 1px solid #cfccc2 }
.mark { float: right; height: 58px; max-width: 190px; object-fit: contain }
.shop { color: #1f3b57; margin: 0 0 4px } .sub, .small { color: #5c5c5c } .sub { margin: 3px 0 12px }
.verdict { font-size: 18px; font-weight: 600; margin: 8px 0 } .bad { color: #a01010 }
.warned { border: 2px solid #a01010; color: #a01010; padding: 6px 10px; margin: 0 0 10px }
.warned b { letter-spacing: .06em; margin-right: .6em }
figure { margin: 8px 0 } svg { width: 100%; height: auto; display: block } .narrow { display: none }
svg .slice { fill: #1f3b57; fill-opacity: 0 } svg .slice:hover { fill-opacity: .25 }
dl { display: grid; grid-template-columns: minmax(9em, 27%) 1fr; gap: 2px 12px; margin: 0 }
dt { color: #5c5c5c } dd { margin: 0; overflow-wrap: anywhere } dd.whole { grid-column: 1 / -1 }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums }
th { text-align: left; font-weight: 600; color: #5c5c5c; border-bottom: 1px solid #cfccc2;
  vertical-align: bottom }
th, td { padding: 3px 10px 3px 0 } td { border-bottom: 1px solid #f0eee8; vertical-align: top }
.one { white-space: nowrap } .right { text-align: right }
.right:not(:has(+ .right)) { padding-right: 20px } p { margin: 0 0 4px }
footer { border-top: 1px solid #cfccc2; margin-top: 20px; padding-top: 6px; color: #5c5c5c }
@media screen and (max-width: 640px) { main { margin: 0; padding: 16px }
  dl { grid-template-columns: 1fr } dd { margin: 0 0 6px }
  .wide { display: none } .narrow { display: block }
  table, tbody { display: block } thead { position: absolute; clip-path: inset(50%) }
  tr { display: flex; flex-wrap: wrap; border-bottom: 1px solid #cfccc2; padding: 5px 0 }
  td, td[colspan] { flex: 1 0 100%; display: flex; border: 0; padding: 1px 0 } td:empty { display: none }
  td[data-h]::before { content: attr(data-h); flex: 0 0 8.5em; color: #5c5c5c }
  td:not([data-h], [colspan]) { flex: 0 0 1.8em }
  td:not([data-h], [colspan]) + td[data-h] { flex: 1 0 60%; font-weight: 600 }
  td:not([data-h], [colspan]) + td::before { content: none }
  td:has(+ td[data-h="value"]) { font-weight: 600 }
  td:has(+ td[data-h="value"])::before, td[data-h="value"]::before { content: none }
  .right { text-align: left } }
@media print { body { background: #fff; font-size: 9pt } main { margin: 0; padding: 0; max-width: none }
  h1 { font-size: 17pt } h2 { font-size: 10.5pt; break-after: avoid } .verdict { font-size: 11.5pt }
  tr, dl, figure { break-inside: avoid } svg { max-height: 78mm } h2 { margin-top: 10px }
  td, th { padding: 1px 8px 1px 0 } .overleaf { break-before: page } }
"""


LONGEST_OF_ONE_LINE = 10  # letters: a date, "7 h 57 min"
SCOPE = ' scope="col"'


def write_html(document: Document, path: Path) -> None:
    """Write a document as HTML. Raises OSError."""
    path.write_text(html(document), encoding="utf-8")


def html(document: Document) -> str:
    """Return the page as text; everything but a chart is escaped."""
    foot = f"<footer>{escape(document.foot)}</footer>" if document.foot else ""
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(document.name)}</title><style>{_STYLE}</style></head><body><main>"
        f"{''.join(map(_block, document.blocks))}{foot}</main></body></html>\n"
    )


def _block(block: Block) -> str:
    match block:
        case Heading():
            return _heading(block)
        case Lead():
            kind = "verdict" if block.good else "verdict bad"
            return f'<p class="{kind}">{_marked_up(block.text)}</p>'
        case Warned():
            return f'<p class="warned" role="note"><b>{escape(block.mark)}</b>{escape(block.why)}</p>'
        case Chart():
            return f"<figure>{block.svg()}</figure>"
        case Table():
            return _table(block)
        case Pairs():
            return f"{_title(block.title)}<dl>{''.join(_pair(*row) for row in block.rows)}</dl>"
        case Paragraphs():
            small = ' class="small"' if block.small else ""
            return _title(block.title) + "".join(f"<p{small}>{escape(line)}</p>" for line in block.lines)
        case Overleaf():
            return '<div class="overleaf"></div>'


def _marked_up(text: str) -> str:
    """Return words as HTML; a number and its unit stay on one line."""
    return escape(with_units_held(text))


def _title(title: str) -> str:
    return f"<h2>{escape(title)}</h2>" if title else ""


def _heading(block: Heading) -> str:
    data = base64.b64encode(block.mark).decode()
    mark = f'<img class="mark" alt="mark of the workshop" src="data:image/png;base64,{data}">' if data else ""
    shop = f'<p class="shop">{escape(block.workshop)}</p>' if block.workshop else ""
    return f'{mark}{shop}<h1>{_marked_up(block.title)}</h1><p class="sub">{escape(block.below)}</p>'


def _pair(name: str, value: str) -> str:
    if not name:
        return f'<dd class="whole">{_marked_up(value)}</dd>'
    return f"<dt>{escape(name)}</dt><dd>{_marked_up(value)}</dd>"


def _set(cell: str, right: bool, one: bool) -> str:
    """Return how a cell is set: to the right; a date, a time or a number in one line."""
    kinds = ["right"] * right + ["one"] * (one and 0 < len(cell) <= LONGEST_OF_ONE_LINE)
    return f' class="{" ".join(kinds)}"' if kinds else ""


def _table(block: Table) -> str:
    def cells(row: tuple[str, ...], tag: str, scope: str = "") -> str:
        one = tag == "td"
        names = [f' data-h="{escape(name)}"' if one and name else "" for name in block.head]
        made = ((_set(cell, n in block.right, one), _marked_up(cell)) for n, cell in enumerate(row))
        return "".join(
            f"<{tag}{scope}{name}{kind}>{cell}</{tag}>"
            for name, (kind, cell) in zip(names, made, strict=True)
        )

    below = [f'<tr><td></td><td colspan="9">{escape(b)}</td></tr>' if b else "" for b in block.below]
    rows = [f"<tr>{cells(row, 'td')}</tr>" for row in block.rows]
    body = "".join(row + more for row, more in zip_longest(rows, below, fillvalue=""))
    return (
        f'{_title(block.title)}<div class="scroll"><table aria-label="{escape(block.title)}">'
        f"<thead><tr>{cells(block.head, 'th', SCOPE)}</tr></thead><tbody>{body}</tbody></table></div>"
    )
