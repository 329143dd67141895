"""A chart as SVG inside a page, twice: for a screen or paper, and for a telephone held upright.

Letters of a wide chart on a telephone would be four pixels high, or the chart would have to be pushed to and
fro. The page's style shows one of the two.
"""

import io
from collections.abc import Callable
from html import escape

import matplotlib as mpl
from matplotlib.figure import Figure

from kilnctl.report.layout.style import STYLE

Inches = tuple[float, float]
Paint = Callable[[Figure], object]
Over = Callable[[Figure], str]


def page_svg(name: str, paint: Paint, wide_in: Inches, narrow_in: Inches, over: Over = lambda f: "") -> str:
    """Return both charts. `name` says what they are to who cannot see it; `over` goes over the wide one."""
    return _svg(name, paint, wide_in, "wide", over) + _svg(name, paint, narrow_in, "narrow", lambda f: "")


def _svg(name: str, paint: Paint, size_in: Inches, kind: str, over: Over) -> str:
    out = io.StringIO()
    # two charts of a page must not share the names of their parts: the hidden one's are not drawn
    with mpl.rc_context({**STYLE, "svg.hashsalt": f"kilnctl {kind}"}):
        figure = Figure(figsize=size_in, layout="constrained")
        paint(figure)
        figure.draw_without_rendering()
        figure.savefig(out, format="svg", metadata={"Date": None})
        more = over(figure)
    text = out.getvalue()
    text = text[text.index("<svg") :]
    opened = text.index(">") + 1
    head = f'<svg class="{kind}" role="img" aria-label="{escape(name)}"{text[4:opened]}'
    return f"{head}<title>{escape(name)}</title>{text[opened : text.rindex('</svg>')]}{more}</svg>"
