"""A text board that starts anew whenever its port is opened, over real bytes: the bus check waits for it.

Many boards with a socket for USB do so (common practice, no single source).
"""

import time

import pytest
from faults.planted.bench import HEAD
from foreign.wires import OnAPty, lines

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.port import open_line
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
DEAF_S = 0.9
FILE = (
    HEAD + '[device.micro]\nkind = "text"\nport = "rs485"\n'
    + 'ask = [{ send = "temp", reply = "temp {process}" }, { send = "heat", reply = "heat {heater}" }]\n'
    + 'tell = { heater = { send = "heat {value}", reply = "heat {value}" } }\n'
    + '[signal.process]\ndevice = "micro"\nfield = "process"\nunit = "C"\nlow = "-20 C"\nhigh = "400 C"\n'
    + '[output.heater]\ndevice = "micro"\nfield = "heater"\nkind = "pulse"\nholds = "5 s"\n'
)  # fmt: skip
BANNER = ('kind = "text"\n', 'kind = "text"\nbanner = "hello box"\nbanner_wait = "2 s"\n')


class Restarts:
    """Deaf for a while after each opening of its port, then it says who it is."""

    def __init__(self) -> None:
        self._hears_s, self._greeted = 0.0, True
        words = lines({"temp": "temp 20.25\n", "heat": "heat 0\n"}.get)

        def talk(came: bytes) -> tuple[int, bytes]:
            if time.monotonic() < self._hears_s:
                return len(came), b""
            if not self._greeted:
                self._greeted = True
                return len(came), b"hello box\n"
            return words(came)

        self.line = OnAPty(talk)

    def opened(self, port, exclusive):
        line = open_line(port, exclusive)
        self._hears_s, self._greeted = time.monotonic() + DEAF_S, False
        return line


@pytest.fixture
def board():
    made = Restarts()
    yield made
    made.line.close()


def probe(board: Restarts, *changes: tuple[str, str]) -> Probe:
    text = FILE.replace("PATH", board.line.path)
    for before, after in changes:
        assert before in text
        text = text.replace(before, after)
    return Probe(loads(text, Oven, ConfigError, "bench"), RealClock(), opener=board.opened)


def test_a_board_that_starts_anew_at_each_opening_passes_the_bus_check(board) -> None:
    """It was asked at once, and 30 other settings were tried on a board that had not begun to listen."""
    look = probe(board, BANNER)
    try:
        assert all(one.good for one in look.ports())
        assert [(one.good, one.say) for one in look.answers()] == [(True, "micro answers.")]
        assert all(one.good for one in look.places())
    finally:
        look.close()


def test_its_sensor_is_read_in_a_step_of_its_own(board) -> None:
    look = probe(board, BANNER)
    try:
        assert [(one.good) for one in look.temperatures(20.0)] == [True]
    finally:
        look.close()


def test_a_wrong_line_end_is_found_though_each_try_starts_it_anew(board) -> None:
    look = probe(board, BANNER, ('kind = "text"\n', 'kind = "text"\nline_end = "CR"\n'))
    try:
        (found,) = look.answers()
        assert not found.good
        assert 'line_end = "LF"' in found.say
    finally:
        look.close()


def test_a_start_that_the_file_does_not_tell_is_told_with_what_to_write(board) -> None:
    look = probe(board)
    try:
        (found,) = look.answers()
    finally:
        look.close()
    assert not found.good
    assert found.say.endswith('write banner = "hello box", banner_wait = "3 s".')
