"""The screen as far as it only shows: what comes in, and where it stands."""

import asyncio
import os
from collections.abc import Callable, Sequence

from textual import work
from textual.app import App, ComposeResult
from textual.await_complete import AwaitComplete
from textual.content import Content
from textual.events import Resize
from textual.filter import LineFilter
from textual.screen import ModalScreen, Screen

from kilnctl.clock import Clock
from kilnctl.dashboard import formatting, sound
from kilnctl.dashboard.drawing import theme as themes
from kilnctl.dashboard.drawing.ascii_fallback import Alike
from kilnctl.dashboard.drawing.without_colour import WithoutColour
from kilnctl.dashboard.feed import Feed
from kilnctl.dashboard.history import History, Past
from kilnctl.dashboard.keys import KeyRow
from kilnctl.dashboard.oven_store import Gallery
from kilnctl.dashboard.panels import big_views, header, layout, plan_panel, todo
from kilnctl.dashboard.panels.curve import SPANS, HeatCurve, curve_reading
from kilnctl.dashboard.panels.first_picture import FirstPicture
from kilnctl.dashboard.panels.layout import LARGE, LOW, LOWEST_CHART, SMALLEST
from kilnctl.dashboard.panels.oven_column import OvenColumn
from kilnctl.dashboard.panels.panel import Panel
from kilnctl.dashboard.quench_timer import QuenchTimer
from kilnctl.dashboard.view_state import CutInstead, View, calling, cut_short, most_urgent, unanswered
from kilnctl.errors import KilnctlError
from kilnctl.link.snapshot import Snapshot

LOOK_S = 0.5  # between two looks at the age of the picture
AGAIN_S = 1.0  # between two attempts to attach
SETTLED_S = 2.0  # after the first picture: the curve is drawn too
CURVE_S = 0.95  # the chart is the dear part: at most once a second
ANSWER_SHOWN_S = 12.0
OPENS_S = 0.05  # a dialog is there after a few turns of the library's loop
FAULT = 70  # return code of a screen that a fault of its own has ended
LoadPast = Callable[[int], Past]
LastWords = Callable[[str], CutInstead]


class Showing(App[None]):
    """Follows a feed and shows one oven in full, the others in a row each."""

    last_words: LastWords | None = None
    on_fault: Callable[[Exception], None] | None = None
    settled: Callable[[], None] | None = None
    CSS_PATH = "look.tcss"
    TITLE = "kilnctl"

    def __init__(
        self,
        feed: Feed,
        clock: Clock,
        oven: str | None,
        load_past: LoadPast | None,
        *,
        plain: bool,
        ascii_only: bool,
        unit: str,
    ) -> None:
        # textual's own filter for terminals without colour stumbles over the chart
        without_colour = os.environ.pop("NO_COLOR", "") != ""
        super().__init__()
        for theme in themes.themes(sixteen=self.console.color_system == "standard"):
            self.register_theme(theme)
        # set before anything watches it: the library would parse every style a second time
        self.set_reactive(App.theme, themes.NAMES[2 if without_colour else 0])
        self.stylesheet.set_variables(self.get_css_variables())
        self._feed, self._clock, self._load_past = feed, clock, load_past
        self.gallery = Gallery(oven)
        self.degrees = formatting.Degrees("F" if unit == "F" else "C", "" if ascii_only else "°")
        self.plain, self.read_only, self.attached = plain or ascii_only, False, True
        self._filters_ours: list[LineFilter] = [*([WithoutColour()] if without_colour else [])]
        self._filters_ours += [Alike(ascii_only)] if self.plain else []
        self.span = SPANS[0]
        self.hands: QuenchTimer | None = None
        self.cursor_s: float | None = None  # where the curve is read, in s of the run
        self._answer, self._answered_s = "", 0.0
        self._history_note = ""
        self._drawn_s = self._shown_s = -1e9
        self._two_columns, self._lower_rows, self._redraw_due = False, 0, False
        self._parts: list[Panel | KeyRow] = []
        self._bell = sound.Bell()
        self.heard: dict[str, tuple[str, ...]] = {}
        self.hushed, self._cut = False, CutInstead()
        self._opened_s = 0.0

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Return our names for themes that do not have them."""
        return themes.themes()[0].variables

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Return what every line goes through before it is drawn."""
        return [*super().get_line_filters(), *self._filters_ours]

    def _handle_exception(self, error: Exception) -> None:
        """Tell a fault to whoever can open the screen anew, instead of ending in a page of code over it."""
        if self.on_fault is None:
            super()._handle_exception(error)
            return
        self._return_code = FAULT
        self.on_fault(error)
        self._close_messages_no_wait()

    def pop_screen(self) -> AwaitComplete:
        """Take a dialog away; a key that bounces closes the palette twice, and that is no fault."""
        return super().pop_screen() if len(self.screen_stack) > 1 else AwaitComplete()

    # what is on it

    def get_default_screen(self) -> Screen[object]:
        """Return the screen below all questions, as it is before the first picture: page 1."""
        return Screen(id="_default", classes="-first -page-1")

    def compose(self) -> ComposeResult:
        """Lay out all parts; which of them show depends on the classes of the screen."""
        yield from layout.parts(self._others, self._curve_title, self._hands_picture)

    def on_mount(self) -> None:
        """Begin to follow and to look at the clock."""
        self._opened_s = self._clock.real_s()
        self.follow()
        self.set_interval(LOOK_S, self.look_again)

    @property
    def base(self) -> Screen[object] | None:
        """The screen below all questions, None while the app is being torn down."""
        stack = self.screen_stack
        return stack[0] if stack else None

    def _others(self, v: View, width: int, height: int) -> Content:
        beside = 1 if self._two_columns else 0
        return header.others([self.view_of(s) for s in self.gallery.others[beside:]], width)

    def _curve_title(self, v: View, width: int, height: int) -> Content:
        if self.cursor_s is not None:
            return curve_reading(v, self.gallery.histories[v.s.oven], self.cursor_s, width)
        return plan_panel.title_of_curve(v.s, self.span, width, self._history_note)

    def _hands_picture(self, v: View, width: int, height: int) -> Content:
        if self.hands is None:
            return Content("")
        return big_views.hands(self.hands, self._clock.real_s(), v.plain, width, height)

    def make_page(self, base: Screen[object], name: str) -> None:
        """Make a page that nobody has asked for yet: a fifth of a first picture is spared so."""
        if not base.query(f"#{name}"):
            base.query_one("#oven").mount(layout.page(name))
            self._parts = []

    # what comes in

    @work(group="follow", exit_on_error=True)
    async def follow(self) -> None:
        """Follow the controller for ever; attach again when it has gone."""
        while True:
            try:
                async for snapshot in self._feed.snapshots():
                    self.attached = True
                    self.take(snapshot)
            except KilnctlError as e:
                if self.attached and not (self.view is not None and self.view.over):
                    self.say(str(e))  # once: what comes after it, like the answer to off, must stay
            self.attached = False
            self._hear_last_words()
            self.look_again()
            await asyncio.sleep(AGAIN_S)

    def _hear_last_words(self) -> None:
        """Ask whether somebody has cut the heat since the last picture, and how that went."""
        if self.last_words is not None and (s := self.gallery.shown) is not None:
            self._cut = self.last_words(s.utc)

    def take(self, s: Snapshot) -> None:
        """Take a snapshot in: keep it, append it to its curve, show it when it is time."""
        self.hushed, self._cut = False, CutInstead()
        if self.settled is not None:
            self.set_timer(SETTLED_S, self.settled)
            self.settled = None
        begun = self.gallery.take(s)
        if begun is not None and self._load_past is not None:
            self._fetch_past(begun)
        if s.oven == self.gallery.oven and self._clock.real_s() - self._shown_s > LOOK_S - 0.1:
            self.look_again()

    @work(group="past", exit_on_error=False)
    async def _fetch_past(self, history: History) -> None:
        assert self._load_past is not None
        assert history.run is not None
        try:
            history.put_before(await asyncio.to_thread(self._load_past, history.run))
        except KilnctlError as e:
            self._history_note = "only since attached"
            self.say(f"no history: {e}")
        self.redraw()

    @property
    def view(self) -> View | None:
        """What is to be shown now, None before the first snapshot."""
        s = self.gallery.shown
        return None if s is None else self.view_of(s)

    def view_of(self, s: Snapshot) -> View:
        """Return one oven's picture as this screen is to show it now."""
        return View(
            s=s,
            degrees=self.degrees,
            age_s=max(0.0, self._clock.boot_s() - s.published_boot_s),
            attached=self.attached,
            plain=self.plain,
            read_only=self.read_only,
            answer=self._newest_answer(),
            brief=self.base is not None and self.base.has_class("-far"),
            low=self.size.height < LOW,
            web=self.is_web,
            ovens=tuple(sorted(self.gallery.newest)),
            heard=self.heard.get(s.oven) == calling(s),
            hushed=self.hushed,
            cut=self._cut,
            reasons=self.gallery.histories[s.oven].reasons if s.oven in self.gallery.histories else (),
            elsewhere=most_urgent(o for o in self.gallery.newest.values() if o.oven != s.oven),
        )

    def _newest_answer(self) -> str:
        answered = self._clock.real_s() - self._answered_s < ANSWER_SHOWN_S
        return self._answer if answered else ""

    def say(self, answer: str) -> None:
        """Show an answer for a while."""
        self._answer, self._answered_s = answer, self._clock.real_s()
        self.look_again()

    # showing

    def look_again(self) -> None:
        """Show everything as it is now; cheap where nothing has changed."""
        v, base = self.view, self.base
        if base is None:
            return
        if v is None:
            for first in base.query(FirstPicture):
                first.show(self._clock.real_s() - self._opened_s, self._newest_answer())
            return
        if base.has_class("-first"):
            self.redraw_soon()
        self._shown_s = self._clock.real_s()
        base.update_classes(self._now_classes(v, base))
        self._ring([v, *(self.view_of(s) for s in self.gallery.others)])
        if not self._parts:  # sought once: the second column has its own
            panels = base.query("#oven Panel, Screen > Panel").results(Panel)
            self._parts = [*panels, *base.query(KeyRow)]
        for part in self._parts:
            part.show(v)
        if self._shown_s - self._drawn_s >= CURVE_S:
            self._draw(v, base)

    def _now_classes(self, v: View, base: Screen[object]) -> dict[str, bool]:
        """Return the classes of the screen, all at once: each change of them costs a look at every style."""
        self._two_columns = (
            len(v.ovens) > 1 and base.has_class("-large") and base.has_class("-page-1")
        ) and not (base.has_class("-far") or self.hands is not None)
        classes = {
            "-first": False,
            "-grey": v.grey,
            "-banner": v.banner,
            "-called": bool(v.s.trip or unanswered(v.s)) or (self.hands is not None and cut_short(v.s)),
            "-calm": todo.calm(v),
            "-several": len(v.ovens) > (2 if self._two_columns else 1),
            "-beside": self._two_columns,
            "-answered": bool(v.answer),
            "-waits": formatting.stage(v.s) in ("T-2", "READY", "LATE") and not v.stale,
        }
        for middle in base.query("#middle"):  # none while the screen is being torn down
            classes["-low"] = 0 < middle.size.height < LOWEST_CHART
        return classes

    def _draw(self, v: View, base: Screen[object]) -> None:
        rows = layout.lower_rows(v, self.size.height)
        for lower in base.query("#lower"):  # none while the screen is being torn down
            if rows != self._lower_rows:
                self._lower_rows = lower.styles.height = rows
        for curve in base.query("#curve").results(HeatCurve):
            if curve.size.width >= 20:
                self._drawn_s = self._clock.real_s()
                history = self.gallery.histories[v.s.oven]
                curve.draw(v.s, history, self.span, v.degrees, v.plain, v.grey, self.cursor_s)
        if self._two_columns:
            self._draw_beside(base)

    def _draw_beside(self, base: Screen[object]) -> None:
        """Show the other oven in its column; the first time there is none yet."""
        if not base.query(OvenColumn):
            base.query_one("#ovens").mount(OvenColumn())
            self.redraw_soon()
        s = self.gallery.others[0]
        for beside in base.query(OvenColumn):
            beside.show(self.view_of(s), self.gallery.histories[s.oven], self.span)

    def read_curve(self, at_s: float | None) -> None:
        """Read the curve at a time of the run; None ends it."""
        if at_s != self.cursor_s:
            self.cursor_s = at_s
            self.redraw()

    def redraw(self) -> None:
        """Show everything now, the chart too."""
        self._drawn_s, self._redraw_due = -1e9, False
        self.look_again()

    def redraw_soon(self) -> None:
        """Show everything when the layout stands; asked for several times before, it is done once."""
        if not self._redraw_due:
            self._redraw_due = self.call_after_refresh(self.redraw)

    def _ring(self, views: list[View]) -> None:
        """Sound for whichever oven calls, and close questions when one has tripped."""
        if self._bell.new_trip(views):
            self.close_questions()
        if self._bell.due(views, self._clock.real_s()):
            self.bell()

    def close_questions(self) -> None:
        """A trip or an off must be seen: every open question is answered the safe way.

        One that opens in this very moment cannot be closed yet.
        """
        while isinstance(self.screen, ModalScreen):
            if not self.screen.is_mounted:
                self.set_timer(OPENS_S, self.close_questions)
                return
            self.pop_screen()

    def on_resize(self, event: Resize) -> None:
        """Choose the layout for the size of the terminal."""
        width, height = event.size
        if self.base is not None:
            small = width < SMALLEST[0] or height < SMALLEST[1]
            large = width >= LARGE[0] and height >= LARGE[1]
            self.base.update_classes({"-small": small, "-large": large})
        self.redraw_soon()
