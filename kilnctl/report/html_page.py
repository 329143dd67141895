"""The one-page record as HTML: one file, nothing fetched, prints on one sheet."""

from html import escape
from pathlib import Path

from kilnctl.report.chart import svg_text
from kilnctl.report.facts import Group, RecordFacts
from kilnctl.report.record import Record

_STYLE = """
@page { size: A4; margin: 12mm }
* { box-sizing: border-box }
body { font: 11px/1.4 system-ui, Arial, sans-serif; color: #22262a; background: #eceae4; margin: 0 }
main { max-width: 860px; margin: 16px auto; background: #fff; padding: 26px 32px;
  border-top: 5px solid #1f3b57 }
h1 { font-size: 21px; margin: 0; font-weight: 650 }
h2 { font-size: 11px; margin: 0 0 3px; color: #1f3b57;
  border-bottom: 1px solid #d5d2c8; padding-bottom: 2px }
.sub { color: #555; margin: 2px 0 10px }
.mark { border: 2px solid #a01010; color: #a01010; padding: 6px 10px; margin: 0 0 10px }
.mark b { letter-spacing: .08em; margin-right: .6em }
svg { width: 100%; height: auto; display: block; margin: 4px 0 8px }
.groups { columns: 2; column-gap: 26px }
.groups section { break-inside: avoid; margin-bottom: 11px }
dl { display: grid; grid-template-columns: 38% 1fr; gap: 1px 8px; margin: 0 }
dt { color: #666 } dd { margin: 0; overflow-wrap: anywhere }
table { border-collapse: collapse; width: 100%;
  margin: 2px 0 12px; font-variant-numeric: tabular-nums }
th { text-align: left; font-weight: 600; color: #1f3b57;
  border-bottom: 1px solid #d5d2c8; padding: 2px 6px 2px 0 }
td { border-bottom: 1px solid #f0eee8; padding: 2px 6px 2px 0; vertical-align: top }
footer { border-top: 1px solid #d5d2c8; margin-top: 8px; padding-top: 6px; color: #555; font-size: 10px }
footer p { margin: 0 0 3px } footer p:first-child { color: #22262a; font-weight: 600 }
@media print { body { background: #fff; font-size: 8.6px; line-height: 1.3 } svg { max-height: 84mm }
  main { margin: 0; padding: 0; max-width: none; border: 0 } }
"""


def write_page(record: Record, said: RecordFacts, path: Path) -> None:
    """Write the one-page record as HTML. Raises OSError."""
    path.write_text(html(said, svg_text(record)), encoding="utf-8")


def html(said: RecordFacts, chart: str) -> str:
    """Return the page as text; `chart` is SVG, everything else is escaped."""
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f"<title>{escape(said.title)}</title><style>{_STYLE}</style></head><body><main>"
        f'<h1>{escape(said.title)}</h1><p class="sub">{escape(said.subtitle)}</p>'
        f"{_marks(said)}{chart}{_table(said.table)}"
        f'<div class="groups">{"".join(_group(g) for g in said.groups)}{_not_measured(said)}</div>'
        f"<footer>{''.join(f'<p>{escape(line)}</p>' for line in said.footer)}</footer>"
        "</main></body></html>\n"
    )


def _marks(said: RecordFacts) -> str:
    if not said.marks:
        return ""
    return f'<p class="mark"><b>{escape(" · ".join(said.marks))}</b>{escape(" ".join(said.why_marked))}</p>'


def _group(group: Group) -> str:
    rows = "".join(f"<dt>{escape(name)}</dt><dd>{escape(value)}</dd>" for name, value in group.rows)
    return f"<section><h2>{escape(group.title)}</h2><dl>{rows}</dl></section>"


def _not_measured(said: RecordFacts) -> str:
    return f"<section><h2>Not measured</h2>{escape('; '.join(said.not_measured))}.</section>"


def _table(rows: tuple[tuple[str, ...], ...]) -> str:
    head = "".join(f"<th>{escape(cell)}</th>" for cell in rows[0])
    body = "".join("<tr>" + "".join(f"<td>{escape(c)}</td>" for c in row) + "</tr>" for row in rows[1:])
    return f"<h2>Segments, asked and achieved</h2><table><tr>{head}</tr>{body}</table>"
