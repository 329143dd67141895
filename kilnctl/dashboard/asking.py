"""What goes out: commands and their answers, changes of a running heat, results; what others have asked."""

from collections.abc import Awaitable, Callable
from typing import Any

from textual import work

from kilnctl.dashboard.questions import Question, TextEntry
from kilnctl.dashboard.view_actions import Turning
from kilnctl.errors import UnitError
from kilnctl.link.snapshot import Answer, Command, Snapshot
from kilnctl.stages import LIVE

LONGER_S = 600.0
LOWER_K = 10.0  # in the example that the question shows
DEAF_S = 0.5  # a burst is through by then, and nobody answers a step that fast
ONLY_OFF = "this screen can only switch off"
Keep = Callable[[Snapshot, dict[str, Any]], Awaitable[Answer]]


class Asking(Turning):
    """A screen that sends. `who` is its terminal, `keep` writes beside a record that is closed."""

    who = ""
    keep: Keep | None = None
    deaf_until_s = -1e9  # on the unscaled clock

    async def line_of(self, ask: str, example: str) -> str:
        """Ask for a line of text. What a raw paste types after its first line is not heard as keys."""
        return await self.push_screen_wait(TextEntry(ask, example, self._be_deaf))

    def _be_deaf(self) -> None:
        self.deaf_until_s = self._clock.real_s() + DEAF_S

    def take(self, s: Snapshot) -> None:
        """Take a snapshot in; show what somebody at another screen has asked (own commands are answered)."""
        before = self.gallery.newest.get(s.oven)
        super().take(s)
        if before is not None and before.state in LIVE and s.state == "stopped":
            self.close_questions()  # somebody has switched off
        new = before is not None and s.last_command not in ("", before.last_command)
        if new and not s.last_command.endswith(f" by {self.who}"):
            self.say(f"{s.oven}: {s.last_command}" if len(self.gallery.newest) > 1 else s.last_command)

    # changes of the plan, and results

    @work(group="ask")
    async def action_longer(self) -> None:
        """Make the present soak ten minutes longer."""
        ask = "Soak 10 minutes longer? The heat stays on for that time. It is recorded as a deviation."
        if await self.push_screen_wait(Question(ask, "10 min more", "As planned")):
            self._tell("adjust", what="longer", by_s=LONGER_S)

    @work(group="ask")
    async def action_lower(self) -> None:
        """Lower the goal of the present segment. It takes heat away, so only the number is asked."""
        v = self.view
        if v is None or v.s.goal_c is None:
            return
        goal, example = v.degrees.point(v.s.goal_c), v.degrees.point(v.s.goal_c - LOWER_K)
        ask = f"New, lower goal for this ramp and its soak (now {goal}). It is recorded."
        found = await self.line_of(ask, example)
        if not found:
            return
        from kilnctl.units import parse_point_c  # late: it loads pydantic

        try:
            self._tell("adjust", what="lower", to_c=parse_point_c(found))
        except UnitError as e:
            self.say(f"not lowered: {e}")

    @work(group="ask")
    async def action_skip(self) -> None:
        """Go on to the next segment."""
        ask = "Go to the next step now? The current one ends unfinished. It is recorded as a deviation."
        if await self.push_screen_wait(Question(ask, "Next step", "Stay")):
            self._tell("adjust", what="next")

    @work(group="ask")
    async def action_result(self) -> None:
        """Write a file or tester result into the record."""
        ask = 'Hardness result. Add "bare" if you ground the spot to bare metal.'
        found = await self.line_of(ask, "60 skates, 65 cuts; tester 61.2 60.8 61.0; bare")
        v = self.view
        if found and v is not None:
            self._stamp(v.s, {"mark": "result", "text": found})

    # what goes out

    def _tell(self, word: str, **args: object) -> None:
        if self.read_only:
            self.say(ONLY_OFF)
        else:
            self._send(Command(word, self.gallery.oven, dict(args), self.who))

    @work(group="send", exit_on_error=False)
    async def _send(self, command: Command) -> None:
        self._told(command.word, await self._feed.ask(command))

    @work(group="send", exit_on_error=False)
    async def _stamp(self, s: Snapshot, stamp: dict[str, Any]) -> None:
        """Give a stamp to the running heat; beside its record when the heat is over, and results always."""
        answer = Answer(False, "the heat is over")
        if s.state in LIVE:
            answer = await self._feed.ask(Command("mark", s.oven, stamp, self.who))
        if self.keep is not None and (stamp["mark"] == "result" or not answer.accepted):
            answer = await self.keep(s, stamp)
        self._told(str(stamp["mark"]), answer)

    def _told(self, word: str, answer: Answer) -> None:
        if answer.accepted:
            if self.hands is None or answer.why:  # in the count it would lie over the bar, which says as much
                self.say(f"{word}: {answer.why or 'accepted'}")
        else:
            self.say(f"{word} REFUSED: {answer.why}")
            self.bell()
