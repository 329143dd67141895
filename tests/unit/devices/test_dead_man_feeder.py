"""What a dead-man is written, turn by turn, on a place that only remembers: no wire, no oven."""

from types import SimpleNamespace

from kilnctl.config.wiring import Arm, DeadMan
from kilnctl.devices.dead_man_feeder import DeadManFeeder
from kilnctl.devices.signals import OPEN_RAW
from kilnctl.errors import NoReply


class Remembers:
    """One register: what it holds, and all that was written."""

    def __init__(self, holds: object = OPEN_RAW) -> None:
        self.holds, self.written = holds, []

    def read(self, _places: list[object]) -> list[object]:
        return [self.holds]

    def write(self, _place: object, number: float) -> None:
        self.written.append(number)


def fed(board: Remembers, **keys: object) -> DeadManFeeder:
    dead_man = DeadMan.model_validate({"device": "board", "register": 1, "drops_after": "5 s", **keys})
    return DeadManFeeder(SimpleNamespace(dead_man=dead_man), {"board": board})


def test_a_count_goes_on_where_an_earlier_process_stopped() -> None:
    board = Remembers(holds=4)
    feeder = fed(board, write=1, counts_to=5)
    for _ in range(3):
        feeder.feed()
    assert board.written == [5, 1, 2]


def test_a_count_that_cannot_be_read_begins_anew() -> None:
    board = Remembers(holds=NoReply("silent"))
    fed(board, write=1, counts_to=5).feed()
    assert board.written == [1]


def test_after_an_edge_the_next_feeding_is_the_other_level() -> None:
    board = Remembers()
    feeder = fed(board, write=1, then=0)
    feeder.feed()
    feeder.edge()
    feeder.feed()
    assert board.written == [1, 0, 1]


def test_what_is_stored_is_written_only_where_it_reads_otherwise() -> None:
    board = Remembers(holds=30)
    feeder = fed(board, write=30, stored=True)
    feeder.feed()
    assert board.written == []
    board.holds = 0
    feeder.feed()
    assert board.written == [30]


def test_an_arm_is_told_like_a_feeding() -> None:
    board = Remembers(holds=7)
    arm = Arm.model_validate({"device": "board", "register": 2, "write": 9, "stored": True})
    fed(board, write=1).tell(arm, arm.write)
    assert board.written == [9]


def test_an_oven_without_a_dead_man_is_written_nothing() -> None:
    board = Remembers()
    feeder = DeadManFeeder(SimpleNamespace(dead_man=None), {"board": board})
    feeder.edge()
    feeder.feed()
    assert board.written == []
