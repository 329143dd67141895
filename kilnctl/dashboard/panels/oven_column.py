"""A second oven beside the one shown, where the screen has the room: the same panels in a column."""

from collections.abc import Iterable

from textual.containers import Horizontal, Vertical
from textual.widget import Widget

from kilnctl.dashboard.history import History
from kilnctl.dashboard.panels import big_band, header, heat_panel, plan_panel, todo
from kilnctl.dashboard.panels.curve import HeatCurve
from kilnctl.dashboard.panels.panel import Panel, flowing
from kilnctl.dashboard.view_state import View


class OvenColumn(Vertical):
    """The column of the other oven; mounted when one comes up, and shown on page 1 of a large terminal."""

    def __init__(self) -> None:
        super().__init__(id="second-oven")
        self._panels = [
            Panel(flowing(header.header), id="second-oven-header"),
            Panel(flowing(header.banner), id="second-oven-banner", grows=True),
            Panel(big_band.band, id="second-oven-band"),
            Panel(flowing(todo.now), id="second-oven-now", grows=True),
            Panel(plan_panel.plan, id="second-oven-plan", fades=True),
            Panel(heat_panel.heat, id="second-oven-heat", fades=True),
        ]
        self._curve = HeatCurve(id="second-oven-curve")

    def compose(self) -> Iterable[Widget]:
        """Lay out what the oven shown has too, but for its limits."""
        *above, plan, heat = self._panels
        yield from above
        with Horizontal(id="second-oven-middle"):
            yield self._curve
            yield plan
        yield heat

    def show(self, v: View, history: History, span: str) -> None:
        """Show the other oven as it is now."""
        self.set_class(v.banner, "-old")
        for panel in self._panels:
            panel.show(v)
        if self._curve.size.width >= 20:
            self._curve.draw(v.s, history, span, v.degrees, v.plain, v.grey)
