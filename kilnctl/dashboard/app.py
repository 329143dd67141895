"""The live screen as a person uses it: keys become commands, what adds heat asks first, off never does."""

from collections.abc import Awaitable, Callable
from typing import Any, ClassVar

from textual import work
from textual.binding import Binding, BindingType
from textual.command import Provider

from kilnctl.clock import Clock
from kilnctl.dashboard import formatting
from kilnctl.dashboard.asking import ONLY_OFF, Asking, Keep
from kilnctl.dashboard.base_app import LastWords, LoadPast
from kilnctl.dashboard.feed import Feed
from kilnctl.dashboard.keys import AT_ONCE, KEYS, Finder, Palette, means_anything
from kilnctl.dashboard.panels.panel import Panel
from kilnctl.dashboard.quench_timer import QuenchTimer, bells
from kilnctl.dashboard.questions import Question
from kilnctl.dashboard.view_state import calling
from kilnctl.link.snapshot import Answer, Command, Snapshot

COUNT_S = 0.1  # between two looks at the hands' clock
Reset = Callable[[Snapshot, str], Awaitable[Answer]]
OffAtPorts = Callable[[], Awaitable[Answer]]


class WatchApp(Asking):
    """The dashboard. `load_past` returns the older samples of a run; `ctrl_c_off` is for attached runs.

    `reset` takes a latch off where that is not the running controller's affair; `off_at_ports` cuts the heat
    where the controller does not; `keep` writes a stamp or a result beside a record that is closed;
    `last_words` returns what whoever cut the heat in the controller's place has said since a UTC time;
    `settled` is called once when the first picture stands.
    """

    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {Palette}
    ENABLE_COMMAND_PALETTE = True
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f9", "off", "OFF", priority=True),
        Binding("ctrl+c", "interrupt", "leave", priority=True, show=False),
        Binding("left", "cursor(-1)", show=False),
        Binding("right", "cursor(1)", show=False),
        Binding("shift+left", "cursor(-10)", show=False),
        Binding("shift+right", "cursor(10)", show=False),
        Binding("escape", "no_cursor", show=False),
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
        off_at_ports: OffAtPorts | None = None,
        last_words: LastWords | None = None,
        settled: Callable[[], None] | None = None,
        keep: Keep | None = None,
        read_only: bool = False,
        ctrl_c_off: bool = False,
        plain: bool = False,
        ascii_only: bool = False,
        fahrenheit: bool = False,
    ) -> None:
        super().__init__(
            feed,
            clock,
            oven,
            load_past,
            plain=plain,
            ascii_only=ascii_only,
            unit="F" if fahrenheit else "C",
        )
        self.who, self.keep, self._reset, self._off_at_ports = who, keep, reset, off_at_ports
        self.last_words, self.settled = last_words, settled
        self.read_only, self._ctrl_c_off, self._own = read_only, ctrl_c_off, oven
        self._sounded_s = 0.0

    def on_mount(self) -> None:
        """Begin to look at the hands' clock; textual calls the handler of every base class by itself."""
        self.set_interval(COUNT_S, self.count)

    # off, and leaving

    def action_off(self) -> None:
        """Heat off, every oven of this controller, at once, without a question."""
        self.close_questions()
        self.say("switching off ...")
        self._off()

    @work(group="send", exit_on_error=False)
    async def _off(self) -> None:
        """Ask the controller; where it has gone, or could not do it, let a second hand go to the ports."""
        answer = await self._feed.ask(Command("off", None, {}, self.who))
        if not answer.accepted and self._off_at_ports is not None:
            self.say(f"{answer.why}; switching off directly ...")
            answer = await self._off_at_ports()
        self._told("off", answer)

    def action_interrupt(self) -> None:
        """Leave; in an attached run, ask for off as well: of its oven, of all where another one is shown.

        In a browser it copies what is marked.
        """
        if self._ctrl_c_off:
            self._off_and_leave()
        elif self.is_web and (marked := self.screen.get_selected_text()):
            self.copy_to_clipboard(marked)
            self.say("copied")
        else:
            self.action_leave()

    @work(group="send", exit_on_error=False)
    async def _off_and_leave(self) -> None:
        shown = self.gallery.oven
        await self._feed.ask(Command("off", shown if self._own in (None, shown) else None, {}, self.who))
        self.exit()

    def action_leave(self) -> None:
        """Leave the screen; the heat goes on. In a browser Ctrl-C means to copy, and a tab is closed."""
        if self.is_web:
            self.say("to leave, close this tab; the heat continues")
        else:
            self.exit()

    def action_command_palette(self) -> None:
        """Open the palette of all keys."""
        if not isinstance(self.screen, Finder):
            self.push_screen(Finder(placeholder="what to do ...", id="--command-palette"))

    # the step that waits, and the count of the hands

    def action_step(self) -> None:
        """The big key: the step is done; at a quench it starts the count, in the count it ends a stage."""
        v = self.view
        if v is None or self.read_only:
            return
        if self.hands is not None:
            self._next_stage(self.hands, v.s)
        elif v.s.waiting is not None and v.s.waiting.step == "quench":
            self._show_hands(QuenchTimer.begin(v.s, self._clock.real_s()))
            self._tell("answer", reply="done", mark="out of the furnace")
        elif v.s.waiting is not None:
            self._tell("answer", reply="done")

    def _next_stage(self, hands: QuenchTimer, s: Snapshot) -> None:
        now_s = self._clock.real_s()
        stamp: dict[str, Any] = {"mark": hands.mark, "after_s": round(hands.taken_s(now_s), 2)}
        stamp["late"] = hands.late(now_s)
        if hands.word == "clamp" and s.waiting is not None and s.waiting.step == "clamp":
            self._tell("answer", reply="done", **stamp)  # the plan's own step for the same hands
        else:
            self._stamp(s, stamp)
        self._show_hands(hands.next(now_s))

    def _show_hands(self, hands: QuenchTimer | None) -> None:
        self.hands, self._sounded_s = hands, 0.0
        if self.base is not None:
            self.base.set_class(hands is not None, "-hands")
        self.redraw()

    def count(self) -> None:
        """Ten times a second while hands are at work: sound each second, and when the time is up.

        When the next blade is ready, its call takes the screen.
        """
        hands, v = self.hands, self.view
        if hands is None or v is None or self.base is None:
            return
        if hands.overtaken(v.s):
            self._show_hands(None)
            self.say("timer stopped: the next part is ready")
            return
        taken_s = hands.taken_s(self._clock.real_s())
        for _ in range(bells(min(self._sounded_s, taken_s), taken_s, hands.allowed_s)):
            self.bell()
        self._sounded_s = taken_s
        for panel in self.base.query("#hands").results(Panel):
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

    # alarms and trips

    def action_acknowledge(self) -> None:
        """Answer all alarms of this oven and silence this screen; nothing is reset by it."""
        if (v := self.view) is not None and not self.read_only:
            self.heard[v.s.oven], self.hushed = calling(v.s), v.banner
            if not v.attached:
                self.say("acknowledged; silent until new data comes")
                return
        self._tell("acknowledge")

    @work(group="ask")
    async def action_reset(self) -> None:
        """Take a trip's latch off, with a note; the heat stays off."""
        if self.read_only:
            self.say(ONLY_OFF)
            return
        ask = "Reset this trip? Only if you have found and fixed the cause."
        if not await self.push_screen_wait(Question(ask, "Reset", "Leave it latched")):
            return
        note = await self.line_of("What was the cause, and what did you do?", "relay replaced")
        v = self.view
        if not note or v is None:
            self.say("not reset: a reset needs a note")
        elif self._reset is None:
            self._tell("reset", note=note)
        else:
            self.say("reset: checking the readings for a moment ...")
            answer = await self._reset(v.s, note)
            if answer.accepted:
                self.gallery.release(v.s, formatting.clock_time(self._clock.utc().isoformat()))
            self._told("reset", answer)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Hide keys that mean nothing now, and those that a raw paste types after its first line's end."""
        if action in AT_ONCE and self._clock.real_s() < self.deaf_until_s:
            return False
        return means_anything(action, self.view, self.hands is not None)
