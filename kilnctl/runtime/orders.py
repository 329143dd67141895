"""What a person asks of a running heat: refused at once, or done at the beginning of the next tick."""

from collections import deque
from typing import TYPE_CHECKING

from kilnctl.interlocks.alarms import shelf_s
from kilnctl.link.snapshot import Answer, Command
from kilnctl.runtime import adjusting

if TYPE_CHECKING:
    from kilnctl.runtime.runner import Runner


class Orders:
    """The commands that wait for the next tick of one run."""

    def __init__(self) -> None:
        self._waiting: deque[Command] = deque()

    def put(self, runner: "Runner", command: Command) -> Answer:
        """Take a command, or refuse it with the reason. From any thread."""
        why_not = _why_not(runner, command)
        if not why_not:
            self._waiting.append(command)
        return Answer(not why_not, why_not)

    def carry_out(self, runner: "Runner") -> None:
        """Do what waits, in its order. In the run's own thread only."""
        while self._waiting:
            command = self._waiting.popleft()
            runner.recorder.event(command.word, command.who, **command.args)
            runner.last_command = f"{adjusting.said(command)} by {command.who or 'a person'}"
            _do(runner, command)


def _why_not(runner: "Runner", command: Command) -> str:
    match command.word:
        case "answer":
            return "" if runner.segment_kind == "operator" else "no step is waiting for an answer"
        case "adjust":
            return adjusting.why_not(runner.profile, runner.cursor, command.args)
        case "acknowledge" | "mark":
            return ""
        case "shelve":
            return runner.alarms.why_not_shelve(str(command.args.get("kind")), shelf_s(command.args))
    return f'a running heat does not take "{command.word}"'


def _do(runner: "Runner", command: Command) -> None:
    """Do it, unless the heat has moved on since it was asked: a step over, a trip come of an alarm."""
    if command.word == "answer":
        runner.reply = command.args.get("reply", "done")
    elif command.word == "acknowledge":
        runner.hear()
    elif command.word == "shelve":
        kind, for_s = str(command.args.get("kind")), shelf_s(command.args)
        if not runner.alarms.why_not_shelve(kind, for_s):
            runner.alarms = runner.alarms.shelve(kind, for_s, runner.elapsed_s)
    elif command.word == "adjust" and not adjusting.why_not(runner.profile, runner.cursor, command.args):
        runner.adjust(command.args)
