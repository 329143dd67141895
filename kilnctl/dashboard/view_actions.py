"""The keys that change the look only: pages, far view, unit, time span, colours, which oven."""

from dataclasses import replace

from kilnctl.dashboard.base_app import Showing
from kilnctl.dashboard.drawing import theme
from kilnctl.dashboard.panels.curve import SPANS, HeatCurve


class Turning(Showing):
    """A screen whose look can be changed; nothing of it reaches the controller."""

    def action_page(self, number: int) -> None:
        """Show one of the pages: 1 all, 2 curve, 3 plan, 4 limits, 5 alarms, 6 help."""
        if (base := self.base) is None:
            return
        scrolling = {3: "plan-page", 4: "limit-page", 5: "alarm-page", 6: "help-page"}.get(number)
        if scrolling:
            self.make_page(base, scrolling)
        base.update_classes({"-far": False, **{f"-page-{n}": n == number for n in range(1, 7)}})
        base.set_focus(base.query_one(f"#{scrolling}") if scrolling else None)
        self.redraw_soon()

    def action_next_page(self) -> None:
        """Show the next of the pages 1 to 5; for who has a mouse only."""
        if self.base is not None:
            here = next((n for n in range(1, 6) if self.base.has_class(f"-page-{n}")), 0)
            self.action_page(here % 5 + 1)

    def action_help(self) -> None:
        """Show the help, or go back to everything."""
        if self.base is not None:
            self.action_page(1 if self.base.has_class("-page-6") else 6)

    def action_far(self) -> None:
        """Fill the screen with state, temperature and time left, or go back."""
        if self.base is not None:
            self.base.toggle_class("-far")
        self.redraw_soon()

    def action_unit(self) -> None:
        """Change between degC and degF; the record is not touched."""
        self.degrees = replace(self.degrees, unit="F" if self.degrees.unit == "C" else "C")
        self.redraw()

    def action_cursor(self, columns: int) -> None:
        """Read the curve this many columns further; the first time at the newest reading."""
        v, base = self.view, self.base
        if v is None or base is None:
            return
        for curve in base.query("#curve").results(HeatCurve):
            at_s = v.s.elapsed_s if self.cursor_s is None else self.cursor_s + columns * curve.step_s()
            self.read_curve(min(max(at_s, curve.times[0]), curve.times[1]))

    def action_no_cursor(self) -> None:
        """Read the curve no longer."""
        self.read_curve(None)

    def on_heat_curve_read(self, message: HeatCurve.Read) -> None:
        """Read the curve where the mouse is."""
        self.read_curve(message.at_s)

    def action_span(self) -> None:
        """Change the time that the curve shows."""
        self.span = SPANS[(SPANS.index(self.span) + 1) % len(SPANS)]
        self.redraw()

    def action_look(self) -> None:
        """Change between dark, light and monochrome."""
        self.theme = theme.NAMES[(theme.NAMES.index(self.theme) + 1) % len(theme.NAMES)]
        self.redraw_soon()

    def action_oven(self) -> None:
        """Show the next oven."""
        self.gallery.turn()
        self.redraw()
