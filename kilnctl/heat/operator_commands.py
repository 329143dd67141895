"""What a person asks of a running heat: refused at once, or done at the beginning of the next tick."""

from collections import deque

from kilnctl.heat import adjust as adjusting
from kilnctl.heat.heat_state import Heat
from kilnctl.interlocks.alarms import shelf_s
from kilnctl.link.snapshot import Answer, Command


class Orders:
    """The commands that wait for the next tick of one run."""

    def __init__(self) -> None:
        self._waiting: deque[Command] = deque()

    def put(self, heat: Heat, command: Command) -> Answer:
        """Take a command, or refuse it with the reason. From any thread."""
        why_not = _why_not(heat, command)
        if not why_not:
            self._waiting.append(command)
        return Answer(not why_not, why_not)

    def carry_out(self, heat: Heat) -> None:
        """Do what waits, in its order. In the run's own thread only."""
        while self._waiting:
            command = self._waiting.popleft()
            heat.recorder.event(command.word, command.who, **command.args)
            heat.last_command = f"{adjusting.said(command)} by {command.who or 'a person'}"
            _do(heat, command)


def _why_not(heat: Heat, command: Command) -> str:
    match command.word:
        case "answer":
            return "" if heat.segment_kind == "operator" else "no step is waiting for an answer"
        case "adjust":
            return adjusting.why_not(heat.profile, heat.cursor, command.args)
        case "acknowledge" | "mark":
            return ""
        case "shelve":
            return heat.alarms.why_not_shelve(str(command.args.get("kind")), shelf_s(command.args))
    return f'a running heat does not take "{command.word}"'


def _do(heat: Heat, command: Command) -> None:
    """Do it, unless the heat has moved on since it was asked: a step over, a trip come of an alarm."""
    if command.word == "answer":
        heat.reply = command.args.get("reply", "done")
    elif command.word == "acknowledge":
        heat.hear()
    elif command.word == "shelve":
        kind, for_s = str(command.args.get("kind")), shelf_s(command.args)
        if not heat.alarms.why_not_shelve(kind, for_s):
            heat.alarms = heat.alarms.shelve(kind, for_s, heat.elapsed_s)
    elif command.word == "adjust" and not adjusting.why_not(heat.profile, heat.cursor, command.args):
        heat.adjust(command.args)
