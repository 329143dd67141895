"""What stands on the screen, from top to bottom; look.tcss says which of it is shown, and how large."""

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content

from kilnctl.dashboard.drawing.text_layout import text
from kilnctl.dashboard.keys import KeyRow
from kilnctl.dashboard.panels import (
    big_band,
    big_views,
    header,
    heat_panel,
    help_page,
    limits_panel,
    plan_panel,
    todo,
)
from kilnctl.dashboard.panels.curve import HeatCurve
from kilnctl.dashboard.panels.first_picture import FirstPicture
from kilnctl.dashboard.panels.panel import Paint, Panel, flowing
from kilnctl.dashboard.view_state import View

SMALLEST = (80, 24)
LARGE = (160, 45)
LOW = 30  # rows: in a terminal lower than this a count and long words do not both have room
LOWEST_CHART = 5  # rows, with title and axis: below that a chart says nothing, and the plan takes its place
LOWEST_LOWER = 4
NARROWEST_LETTERS, LOWEST_LETTERS = 40, 10  # columns and rows that state and temperature take
PAGES = {
    "plan-page": plan_panel.plan_page,
    "limit-page": limits_panel.limit_page,
    "alarm-page": heat_panel.alarm_page,
    "help-page": help_page.help_page,
}


def parts(others: Paint, curve_title: Paint, hands: Paint) -> ComposeResult:
    """Yield all parts; the three painters know more than the oven's picture."""
    yield FirstPicture(id="first")
    with Horizontal(id="ovens"), Vertical(id="oven"):
        yield from _oven(others, curve_title, hands)
    yield Panel(flowing(header.caution), id="caution", grows=True)
    yield KeyRow(id="keys")
    yield Panel(_too_small, id="small")
    yield Panel(flowing(todo.answer), id="answer", grows=True)


def _oven(others: Paint, curve_title: Paint, hands: Paint) -> ComposeResult:
    yield Panel(flowing(header.header), id="header")
    yield Panel(others, id="others", grows=True)
    yield Panel(flowing(header.banner), id="banner", grows=True)
    yield Panel(big_band.band, id="band")
    yield Panel(flowing(todo.now), id="now", grows=True)
    with Horizontal(id="middle"):
        with Vertical(id="chart"):
            yield Panel(curve_title, id="curve-title", fades=True)
            yield HeatCurve(id="curve")
        yield Panel(plan_panel.plan, id="plan", fades=True, opens=3)
    with Horizontal(id="lower"):
        yield Panel(limits_panel.limits, id="limits", fades=True, opens=4)
        yield Panel(heat_panel.heat, id="heat", fades=True, opens=5)
    yield Panel(big_views.waited, id="waited")
    yield Panel(big_views.far, id="far")
    yield Panel(hands, id="hands")


def page(name: str) -> VerticalScroll:
    """Return one of the pages that fill the middle; made when somebody first asks for it."""
    said = Panel(flowing(PAGES[name]), id=f"{name}-text", grows=True, fades=True)
    return VerticalScroll(said, id=name)


def lower_rows(v: View, height: int) -> int:
    """Return how many rows limits and alarms need in a terminal of this height; the curve has the rest."""
    needed = max(limits_panel.rows_needed(v), heat_panel.rows_needed(v))
    return min(needed, max(LOWEST_LOWER, height // 5))


def _too_small(v: View, width: int, height: int) -> Content:
    """Return what must be said, and in the rows that are left state and temperature in large letters."""
    said = header.too_small(v, width, height, SMALLEST)
    if v.elsewhere is not None:
        said = Content("\n").join([said, text(todo.elsewhere(v, v.elsewhere))])
    rows = sum(max(1, -(-len(line) // max(1, width - 1))) for line in said.plain.split("\n"))
    if width < NARROWEST_LETTERS or height - rows < LOWEST_LETTERS:
        return said
    return Content("\n").join([said, big_views.far(v, width, height - rows - 1, timed=False)])
