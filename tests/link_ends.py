"""Both ends of a link in a test: what a server answers, and pictures with a number."""

from collections.abc import Callable

from kilnctl.link.server import LinkServer
from kilnctl.link.snapshot import AlarmView, Answer, Command, Snapshot, Waiting

Served = Callable[..., LinkServer]


def snapshot(sequence: int, oven: str = "furnace", note: str = "") -> Snapshot:
    return Snapshot(oven, True, sequence, "", "running", "heating", float(sequence), 20.0, 20.0, None, 830.0,
                    1100.0, 1.0, True, note=note)  # fmt: skip


def accept(command: Command) -> Answer:
    return Answer(True, command.word, {"oven": command.oven})


OVEN = Snapshot(
    oven="left",
    simulated=True,
    sequence=1,
    utc="2026-01-01T00:00:00Z",
    state="running",
    word="soaking",
    elapsed_s=60.0,
    process_c=217.6,
    setpoint_c=218.0,
    part_c=216.0,
    goal_c=218.0,
    limit_c=260.0,
    duty=0.2,
    heat_on=True,
    run=7,
    profile="temper twice",
    total_left_s=5400.0,
    waiting=Waiting("look", "look at the colour", 50.0, 900.0, heat_on_meanwhile=True),
    alarms=(AlarmView("late", "the part is late", "soon", "unacknowledged", 30.0),),
)


class Host:
    """A controller of one oven: takes what the real one takes and remembers it."""

    def __init__(self) -> None:
        self.took: list[Command] = []
        self.refuses = ""
        self.holds: dict[str, dict[str, object]] = {"left": {"run": 7, "busy": True, "holds": True}}

    def handle(self, command: Command) -> Answer:
        if command.word == "status":
            return Answer(True, data={"ovens": self.holds})
        self.took.append(command)
        if command.word == "let go":
            self.holds = {}
        return Answer(not self.refuses, self.refuses)
