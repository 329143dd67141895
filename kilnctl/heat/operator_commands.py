"""What a person asks of a running heat: refused at once, or done at the beginning of the next tick."""

from collections import deque

from kilnctl.heat import adjust as adjusting
from kilnctl.heat import progress
from kilnctl.heat.heat_state import Heat, HeatState, acknowledged
from kilnctl.interlocks.alarms import shelf_s
from kilnctl.link.snapshot import Answer, Command


class Orders:
    """The commands that wait for the next tick of one run."""

    def __init__(self) -> None:
        self.waiting: deque[Command] = deque()

    def put(self, now: HeatState, command: Command) -> Answer:
        """Take a command, or refuse it with the reason. From any thread."""
        why_not = _why_not(now, command)
        if not why_not:
            self.waiting.append(command)
        return Answer(not why_not, why_not)

    def carry_out(self, heat: Heat, now: HeatState) -> HeatState:
        """Do what waits, in its order; return the heat after it. In the run's own thread only."""
        while self.waiting:
            command = self.waiting.popleft()
            heat.recorder.event(command.word, command.who, **command.args)
            asked = f"{adjusting.asked_in_words(command)} by {command.who or 'a person'}"
            now = _done(heat, now._replace(last_command=asked), command)
        return now


def _why_not(now: HeatState, command: Command) -> str:
    match command.word:
        case "answer":
            return "" if now.segment_kind == "operator" else "no step is waiting for an answer"
        case "adjust":
            return adjusting.why_not(now.profile, now.cursor, command.args)
        case "acknowledge" | "mark":
            return ""
        case "shelve":
            return now.alarms.why_not_shelve(str(command.args.get("kind")), shelf_s(command.args))
    return f'a running heat does not take "{command.word}"'


def _done(heat: Heat, now: HeatState, command: Command) -> HeatState:
    """Do it, unless the heat has moved on since it was asked: a step over, a trip come of an alarm."""
    match command.word:
        case "answer":
            return now._replace(reply=command.args.get("reply", "done"))
        case "acknowledge":
            return acknowledged(now)
        case "shelve":
            kind, for_s = str(command.args.get("kind")), shelf_s(command.args)
            if not now.alarms.why_not_shelve(kind, for_s):
                return now._replace(alarms=now.alarms.shelve(kind, for_s, now.elapsed_s))
        case "adjust" if not adjusting.why_not(now.profile, now.cursor, command.args):
            return progress.adjusted(heat, now, command.args)
    return now
