"""The live screen: follows one controller, shows one oven at a time, passes keys on as commands."""

import asyncio
from collections.abc import Awaitable, Callable
from typing import ClassVar

from textual import work
from textual.app import App, ComposeResult
from textual.binding import Binding, BindingType
from textual.command import Provider
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.events import Resize
from textual.screen import ModalScreen
from textual.widget import Widget

from kilnctl.clock import Clock
from kilnctl.dashboard import look, panels, sound, words
from kilnctl.dashboard.attach import Feed
from kilnctl.dashboard.curve import SPANS, HeatCurve
from kilnctl.dashboard.hands import Hands, bells
from kilnctl.dashboard.history import History, Past
from kilnctl.dashboard.keys import KEYS, KeyRow, Palette, may
from kilnctl.dashboard.questions import Entry, Question
from kilnctl.dashboard.view import View, unanswered
from kilnctl.errors import KilnctlError
from kilnctl.link.snapshot import Answer, Command, Snapshot

LOOK_S = 0.5  # between two looks at the age of the picture
AGAIN_S = 1.0  # between two attempts to attach
CURVE_S = 0.95  # the chart is the dear part: at most once a second
ANSWER_SHOWN_S = 12.0
SMALLEST = (80, 24)
LONGER_S = 600.0
PAGES = {"plan-page": panels.plan_page, "limit-page": panels.limit_page, "alarm-page": panels.alarm_page}
Paint = Callable[[View, int, int], Content]
LoadPast = Callable[[int], Past]
Reset = Callable[[Snapshot, str], Awaitable[Answer]]


class Panel(Widget):
    """A part of the screen: paints the view into the room it has."""

    DEFAULT_CSS = "Panel { height: 1fr; width: 1fr; }"

    def __init__(self, paint: Paint, *, id: str, grows: bool = False) -> None:
        super().__init__(id=id)
        self._paint, self._grows = paint, grows
        self._view: View | None = None
        self._painted = Content("")

    def show(self, view: View) -> None:
        """Show a view; paints only what has changed."""
        self._view = view
        painted = self._content()
        if painted != self._painted or painted.spans != self._painted.spans:
            self._painted = painted
            self.refresh(layout=self._grows)

    def _content(self) -> Content:
        if self._view is None or not self.display or not self._parent_shown():
            return Content("")
        return self._paint(self._view, max(1, self.size.width), max(1, self.size.height))

    def _parent_shown(self) -> bool:
        return not isinstance(self.parent, Widget) or self.parent.display

    def render(self) -> Content:
        """Return what is shown."""
        return self._content()


class Watch(App[None]):
    """The dashboard. `load_past` returns the older samples of a run; `ctrl_c_off` is for attached runs.

    `reset` takes a latch off where that is not the running controller's affair.
    """

    CSS_PATH = "look.tcss"
    TITLE = "kilnctl"
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {Palette}
    ENABLE_COMMAND_PALETTE = True
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f9", "off", "OFF", priority=True),
        Binding("ctrl+c", "interrupt", "leave", priority=True, show=False),
        *(Binding(c.key, c.action, c.label) for c in KEYS if c.key),
    ]

    def __init__(
        self,
        feed: Feed,
        clock: Clock,
        *,
        oven: str | None = None,
        who: str = "",
        load_past: LoadPast | None = None,
        reset: Reset | None = None,
        read_only: bool = False,
        ctrl_c_off: bool = False,
        plain: bool = False,
        fahrenheit: bool = False,
    ) -> None:
        super().__init__()
        for theme in look.themes():
            self.register_theme(theme)
        self.theme = look.NAMES[0]
        self._feed, self._clock, self._who = feed, clock, who
        self._load_past, self._reset = load_past, reset
        self.read_only, self._ctrl_c_off, self.plain = read_only, ctrl_c_off, plain
        self.degrees = words.Degrees("F" if fahrenheit else "C")
        self.oven, self.span = oven, SPANS[0]
        self.attached = True
        self.hands: Hands | None = None
        self._newest: dict[str, Snapshot] = {}
        self._histories: dict[str, History] = {}
        self._answer, self._answered_s = "", 0.0
        self._history_note = ""
        self._drawn_s = self._rung_s = self._shown_s = -1e9
        self._called = ""
        self._heard: tuple[str, ...] = ()
        self._hands_s = 0.0

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Return our names for themes that do not have them."""
        return look.themes()[0].variables

    # what is on it

    def compose(self) -> ComposeResult:
        """Lay out all parts; which of them show depends on the classes of the screen."""
        yield Panel(_one(panels.header), id="header")
        yield Panel(_banner, id="banner", grows=True)
        yield Panel(panels.band, id="band")
        yield Panel(_one(panels.now), id="now", grows=True)
        with Horizontal(id="middle"):
            with Vertical(id="chart"):
                yield Panel(self._curve_title, id="curve-title")
                yield HeatCurve(id="curve")
            yield Panel(panels.plan, id="plan")
        with Horizontal(id="lower"):
            yield Panel(panels.limits, id="limits")
            yield Panel(panels.heat, id="heat")
        for name, paint in PAGES.items():
            with VerticalScroll(id=name):
                yield Panel(_one(paint), id=f"{name}-text", grows=True)
        yield Panel(panels.far, id="far")
        yield Panel(self._hands_picture, id="hands")
        yield Panel(_caution, id="caution", grows=True)
        yield KeyRow(id="keys")
        yield Panel(_too_small, id="small")

    def on_mount(self) -> None:
        """Begin to follow and to look at the clock."""
        self.action_page(1)
        self.follow()
        self.set_interval(LOOK_S, self.look_again)
        self.set_interval(0.1, self._count)

    def _curve_title(self, v: View, width: int, height: int) -> Content:
        return panels.title_of_curve(v.s, self.span, width, self._history_note)

    def _hands_picture(self, v: View, width: int, height: int) -> Content:
        if self.hands is None:
            return Content("")
        return panels.hands(self.hands, self._clock.real_s(), width, height)

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
                self._history_note = self._history_note or ""
                self._say(str(e))
            self.attached = False
            self.look_again()
            await asyncio.sleep(AGAIN_S)

    def take(self, s: Snapshot) -> None:
        """Take a snapshot in: keep it, append it to its curve, show it when it is time."""
        self._newest[s.oven] = s
        self.oven = self.oven or s.oven
        history = self._histories.get(s.oven)
        if history is None or history.run != s.run:
            history = self._histories[s.oven] = History(s.run)
            if s.run is not None and self._load_past is not None:
                self._fetch_past(history)
        history.add(s)
        if s.oven == self.oven and self._clock.real_s() - self._shown_s > LOOK_S - 0.1:
            self.look_again()

    @work(group="past", exit_on_error=False)
    async def _fetch_past(self, history: History) -> None:
        assert self._load_past is not None
        assert history.run is not None
        try:
            history.put_before(await asyncio.to_thread(self._load_past, history.run))
        except KilnctlError as e:
            self._history_note = "only since attached"
            self._say(f"no history: {e}")
        self._drawn_s = -1e9
        self.look_again()

    @property
    def view(self) -> View | None:
        """What is to be shown now, None before the first snapshot."""
        s = self._newest.get(self.oven or "")
        if s is None:
            return None
        now_s = self._clock.real_s()
        return View(
            s=s,
            degrees=self.degrees,
            age_s=max(0.0, self._clock.boot_s() - s.published_boot_s),
            attached=self.attached,
            plain=self.plain,
            read_only=self.read_only,
            answer=self._answer if now_s - self._answered_s < ANSWER_SHOWN_S else "",
            ovens=tuple(sorted(self._newest)),
            heard=self._heard == _calling(s),
        )

    # showing

    def look_again(self) -> None:
        """Show everything as it is now; cheap where nothing has changed."""
        v = self.view
        if v is None:
            return
        base = self.screen_stack[0]
        self._shown_s = self._clock.real_s()
        base.set_class(v.grey, "-grey")
        base.set_class(v.banner, "-banner")
        base.set_class(bool(v.s.trip), "-trip")
        if v.s.trip and sound.call_of(v) != self._called:
            self._close_questions()
        self._ring(v)
        for panel in base.query(Panel):
            panel.show(v)
        for row in base.query(KeyRow):
            row.show(v)
        if self._shown_s - self._drawn_s >= CURVE_S:
            self._draw(v)

    def _draw(self, v: View) -> None:
        for curve in self.screen_stack[0].query(HeatCurve):  # none while the screen is being torn down
            if curve.size.width >= 20:
                self._drawn_s = self._clock.real_s()
                curve.draw(v.s, self._histories[v.s.oven], self.span, v.degrees, v.plain)

    def _redraw(self) -> None:
        self._drawn_s = -1e9
        self.look_again()

    def _ring(self, v: View) -> None:
        call, now_s = sound.call_of(v), self._clock.real_s()
        every_s = sound.bell_every_s(v)
        due = every_s is not None and now_s - self._rung_s >= every_s - 0.05
        if due or (call and call != self._called):
            self.bell()
            self._rung_s = now_s
        self._called = call

    def _close_questions(self) -> None:
        """A trip must be seen: every open question is answered the safe way, nobody can confirm blindly."""
        while isinstance(self.screen, ModalScreen):
            self.pop_screen()

    def on_resize(self, event: Resize) -> None:
        """Choose the layout for the size of the terminal."""
        base = self.screen_stack[0]
        width, height = event.size
        base.set_class(width < SMALLEST[0] or height < SMALLEST[1], "-small")
        base.set_class(width >= 160 and height >= 45, "-large")
        self.call_after_refresh(self._redraw)

    # keys

    def action_off(self) -> None:
        """Heat off, every oven of this controller, at once, without a question."""
        self._say("off is on its way ...")
        self._send(Command("off", None, {}, self._who))

    def action_interrupt(self) -> None:
        """Leave; in an attached run, ask for off as well."""
        if self._ctrl_c_off:
            self._off_and_leave()
        else:
            self.exit()

    @work(group="send", exit_on_error=False)
    async def _off_and_leave(self) -> None:
        await self._feed.ask(Command("off", self.oven, {}, self._who))
        self.exit()

    def action_leave(self) -> None:
        """Leave the screen; the heat goes on."""
        self.exit()

    def action_page(self, number: int) -> None:
        """Show one of the pages: 1 all, 2 curve, 3 plan, 4 limits, 5 alarms."""
        base = self.screen_stack[0]
        base.remove_class("-far")
        for other in range(1, 6):
            base.set_class(other == number, f"-page-{other}")
        scrolling = {3: "plan-page", 4: "limit-page", 5: "alarm-page"}.get(number)
        base.set_focus(base.query_one(f"#{scrolling}") if scrolling else None)
        self.call_after_refresh(self._redraw)

    def action_far(self) -> None:
        """Fill the screen with state, temperature and time left, or go back."""
        self.screen_stack[0].toggle_class("-far")
        self.call_after_refresh(self._redraw)

    def action_unit(self) -> None:
        """Change between degC and degF; the record is not touched."""
        self.degrees = words.Degrees("F" if self.degrees.unit == "C" else "C")
        self._redraw()

    def action_span(self) -> None:
        """Change the time that the curve shows."""
        self.span = SPANS[(SPANS.index(self.span) + 1) % len(SPANS)]
        self._redraw()

    def action_look(self) -> None:
        """Change between dark, light and monochrome."""
        self.theme = look.NAMES[(look.NAMES.index(self.theme) + 1) % len(look.NAMES)]
        self._redraw()

    def action_oven(self) -> None:
        """Show the next oven."""
        names = sorted(self._newest)
        if self.oven in names:
            self.oven = names[(names.index(self.oven) + 1) % len(names)]
        self._redraw()

    def action_step(self) -> None:
        """The big key: the step is done; at a quench it starts the count, in the count it ends a stage."""
        if self.hands is not None:
            self._next_stage(self.hands)
            return
        v = self.view
        if v is None or v.s.waiting is None or self.read_only:
            return
        reply: dict[str, object] = {"reply": "done"}
        if v.s.waiting.step == "quench":
            times = v.s.hand_times_s
            self.hands = Hands(self._clock.real_s(), 0, times.get("transfer"), times.get("oil", 7.0))
            self.screen_stack[0].add_class("-hands")
            reply["mark"] = "out of the furnace"
        self._tell("answer", **reply)

    def _next_stage(self, hands: Hands) -> None:
        now_s = self._clock.real_s()
        self._tell("mark", mark=hands.mark, after_s=round(hands.taken_s(now_s), 2), late=hands.late(now_s))
        self.hands = hands.next(now_s)
        if self.hands is None:
            self.screen_stack[0].remove_class("-hands")
            self._redraw()

    def _count(self) -> None:
        """Ten times a second while hands are at work: sound each second, and when the time is up."""
        v = self.view
        if self.hands is None or v is None:
            return
        taken_s = self.hands.taken_s(self._clock.real_s())
        for _ in range(
            bells(self._hands_s if self._hands_s < taken_s else 0.0, taken_s, self.hands.allowed_s)
        ):
            self.bell()
        self._hands_s = taken_s
        for panel in self.screen_stack[0].query("#hands").results(Panel):
            panel.show(v)

    def action_wait(self) -> None:
        """Ask for more time at the step that waits."""
        self._tell("answer", reply="wait")

    @work(group="ask")
    async def action_abandon(self) -> None:
        """End the heat at the step that waits."""
        ask = "End this heat here? The heat goes off; the part is not finished."
        if await self.push_screen_wait(Question(ask, "End it", "Go on waiting")):
            self._tell("answer", reply="abort")

    def action_acknowledge(self) -> None:
        """Answer all alarms and silence this screen; nothing is reset by it."""
        v = self.view
        self._heard = _calling(v.s) if v is not None else ()
        self._tell("acknowledge")

    @work(group="ask")
    async def action_reset(self) -> None:
        """Take a trip's latch off, with a note; the heat stays off."""
        if self.read_only:
            self._say("this screen can only switch off")
            return
        ask = "Take the latch of this trip off? Only when the cause is found and gone."
        if not await self.push_screen_wait(Question(ask, "Reset", "Leave it latched")):
            return
        note = await self.push_screen_wait(Entry("What was the cause, what was done?", "relay replaced"))
        v = self.view
        if not note or v is None:
            self._say("not reset: a reset needs a note")
        elif self._reset is None:
            self._tell("reset", note=note)
        else:
            self._say("reset: the readings must be good for a while ...")
            self._told("reset", await self._reset(v.s, note))

    @work(group="ask")
    async def action_longer(self) -> None:
        """Make the present soak ten minutes longer."""
        ask = "Soak 10 minutes longer? The oven heats for 10 minutes more; recorded as a deviation."
        if await self.push_screen_wait(Question(ask, "10 min more", "As planned")):
            self._tell("adjust", what="longer", by_s=LONGER_S)

    @work(group="ask")
    async def action_skip(self) -> None:
        """Go on to the next segment."""
        ask = "Go to the next segment now? The present one ends unfinished; recorded as a deviation."
        if await self.push_screen_wait(Question(ask, "Next segment", "Stay")):
            self._tell("adjust", what="next")

    @work(group="ask")
    async def action_result(self) -> None:
        """Write a file or tester result into the record."""
        found = await self.push_screen_wait(
            Entry("File or tester result, on bare metal:", "file 60 skates, 65 cuts; tester 61.2 60.8 61.0")
        )
        if found:
            self._tell("mark", mark="result", text=found)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Hide keys that mean nothing now."""
        return may(action, self.view, self.hands is not None)

    # what goes out

    def _tell(self, word: str, **args: object) -> None:
        if self.read_only:
            self._say("this screen can only switch off")
        else:
            self._send(Command(word, self.oven, dict(args), self._who))

    @work(group="send", exit_on_error=False)
    async def _send(self, command: Command) -> None:
        self._told(command.word, await self._feed.ask(command))

    def _told(self, word: str, answer: Answer) -> None:
        if answer.accepted:
            self._say(f"{word}: {answer.why or 'accepted'}")
        else:
            self._say(f"{word} REFUSED: {answer.why}")
            self.bell()

    def _say(self, answer: str) -> None:
        self._answer, self._answered_s = answer, self._clock.real_s()
        self.look_again()


def _calling(s: Snapshot) -> tuple[str, ...]:
    return (s.trip, *(alarm.kind for alarm in unanswered(s)))


def _one(paint: Callable[[View, int], Content]) -> Paint:
    return lambda v, width, height: paint(v, width)


def _caution(v: View, width: int, height: int) -> Content:
    return panels.text((words.caution(v.s.isolator), "bold $strong"))


def _banner(v: View, width: int, height: int) -> Content:
    return panels.banner(v) if v.banner else Content("")


def _too_small(v: View, width: int, height: int) -> Content:
    return panels.too_small(v, width, height, SMALLEST)
