"""A device that is deaf for a while after each answer, and one that talks by itself."""

from kilnctl.clock import VirtualClock
from kilnctl.config.device_keys import ModbusDevice
from kilnctl.devices.probing.manners import needs_gap, talks
from kilnctl.errors import NoReply


class Deaf:
    """Hears nothing for so many seconds after an answer, of which each takes 10 ms."""

    def __init__(self, deaf_s: float) -> None:
        self.clock, self.deaf_s, self.free_s = VirtualClock(), deaf_s, 0.0

    def hear(self):
        heard = self.clock.real_s() >= self.free_s
        self.clock.advance(0.01 if heard else 0.2)
        self.free_s = self.clock.real_s() + self.deaf_s if heard else self.free_s
        return None if heard else NoReply("no reply")


def test_a_board_that_is_deaf_after_its_answer_is_told_by_its_pause() -> None:
    for deaf_s, gap in (
        (0.0, ""),
        (0.03, 'gap = "100 ms"'),
        (0.05, 'gap = "100 ms"'),
        (0.09, 'gap = "100 ms"'),
        (0.2, "no heat with this board"),
    ):
        board = Deaf(deaf_s)
        said = needs_gap("relays", board.hear, board.clock)
        assert gap in said, (deaf_s, said)
        assert bool(said) == bool(gap)


def test_a_board_that_answers_now_and_then_is_no_matter_of_pauses() -> None:
    board = Deaf(5.0)
    board.hear()
    assert needs_gap("relays", board.hear, board.clock) == ""


def test_lines_that_nobody_asked_for() -> None:
    other = ModbusDevice(port="bus", address=1)
    assert talks("board", b"", other) == ""
    assert "another master" in talks("board", b"\x01\x03\x00", other)
