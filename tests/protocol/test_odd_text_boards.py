"""Text boards with manners of their own, plain scripts on a pseudo-terminal: checksums, busy words, echoes.

The sums are reckoned here, by the boards; nothing of kilnctl or its simulator is in them.
"""

import functools
import operator
import time

import pytest
from foreign.wires import OnAPty, lines

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError
from kilnctl.readings import Quality
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
ON = HeatRequest(True, 1.0)
TRIES = 3  # of a look each of whose questions has 0.2 s: a busy machine may answer one later
FILE = """
name = "odd"
use = "tempering"
build = "leaky"
power = "1000 W"
limit = "240 C"
isolator = "red switch"
switching = { kind = "solid-state" }
[port.p]
path = "PATH"
timeout = "0.2 s"
[device.micro]
kind = "text"
port = "p"
#keys
ask = [{ send = "$READ", reply = "#T={process} H={heater}" }]
[device.micro.tell]
heater = { send = "$HEAT {value}", reply = "#HEAT {value}" }
alive = { send = "$ALIVE", reply = "#OK" }
[signal.process]
device = "micro"
field = "process"
unit = "C"
low = "-20 C"
high = "400 C"
[output.heater]
device = "micro"
field = "heater"
[dead_man]
device = "micro"
field = "alive"
write = 1
drops_after = "5 s"
"""


def xored(text: str) -> str:
    return f"{functools.reduce(operator.xor, text.encode(), 0):02X}"


class Micro:
    """Commands begin with $, answers with #. `sums` says what of a command and of an answer is summed."""

    def __init__(self, command=None, answer=None, busy: str = "", busy_s: float = 0.0) -> None:
        self.heat, self.said, self._busy, self.busy_s = "0", [], busy, busy_s
        self.free_s, self._command, self._answer = 0.0, command, answer
        self.line = OnAPty(lines(self.talk))

    def talk(self, line: str) -> str | None:
        self.said.append(line)
        text, _, digits = line.rpartition("*") if self._command else (line, "", "")
        if self._command and digits != self._command(text):
            return None
        now_s = time.monotonic()
        if self._busy and now_s < self.free_s:
            return f"{self._busy}\n"
        self.free_s = now_s + self.busy_s if now_s > self.free_s + 0.3 else self.free_s
        answer = self.does(text)
        return answer and f"{answer}*{self._answer(answer)}\n" if self._answer else f"{answer}\n"

    def does(self, text: str) -> str:
        if text == "$READ":
            return f"#T=21.5 H={self.heat}"
        if text[:6] == "$HEAT ":
            self.heat = text[6:]
            return f"#HEAT {self.heat}"
        return "#OK"


def oven(path: str, keys: str = "") -> Oven:
    return loads(FILE.replace("PATH", path).replace("#keys", keys), Oven, ConfigError, "odd.toml")


def whole(text: str) -> str:
    return xored(text)


def rest(text: str) -> str:
    return xored(text[1:])


@pytest.mark.parametrize(
    ("command", "answer", "after"),
    [(rest, rest, "$#"), (rest, whole, "$"), (whole, rest, "#"), (whole, whole, "")],
    ids=["both leave it out", "commands do", "answers do", "none does"],
)
def test_a_checksum_leaves_out_what_the_file_says_of_commands_and_of_answers(command, answer, after) -> None:
    board = Micro(command, answer)
    oven_io = open_oven_io(
        oven(board.line.path, f'checksum = "xor8"\nchecksum_after = "{after}"'), RealClock()
    )
    try:
        oven_io.connect()
        assert oven_io.scan(0.0).process.value == 21.5
        assert oven_io.drive(ON)
        assert board.heat == "1"
        assert oven_io.off()
    finally:
        oven_io.close()
        board.line.close()


@pytest.mark.parametrize("written", ['checksum = "xor8"', 'checksum = "xor8"\nchecksum_after = "$"', ""])
def test_the_bus_check_advises_a_checksum_with_which_it_has_an_answer(written: str) -> None:
    """Once it advised "#" for "$", then "$" for "#", round and round."""
    board = Micro(rest, rest)
    probe = Probe(oven(board.line.path, written), RealClock())
    try:
        for _ in range(TRIES):
            (found,) = probe.answers()
            if "it does with" in found.say:
                break
        assert not found.good
        assert 'checksum_after = "$#"' in found.say
        assert "it does with" in found.say
    finally:
        probe.close()
        board.line.close()


def test_an_advice_that_no_answer_confirms_says_so() -> None:
    """The board answers with a sum of its own kind to whatever it does not understand."""
    board = Micro(None, rest)
    board.does = lambda _text: "#WHAT"
    probe = Probe(oven(board.line.path), RealClock())
    try:
        (found,) = probe.answers()
        assert 'checksum = "xor8"' in found.say
        assert "it does with" not in found.say
    finally:
        probe.close()
        board.line.close()


BUSY = 'busy_words = ["WAIT", "?"]'


def test_a_board_that_says_wait_is_asked_again_in_the_time_that_it_has() -> None:
    board = Micro(busy="WAIT", busy_s=0.15)
    oven_io = open_oven_io(oven(board.line.path, BUSY), RealClock())
    try:
        oven_io.connect()
        for at in range(4):
            board.free_s = time.monotonic() + 0.15
            assert oven_io.scan(at).process.value == 21.5
        board.free_s = time.monotonic() + 0.15
        assert oven_io.drive(ON)
        board.free_s = time.monotonic() + 0.15
        assert oven_io.feed()
        board.free_s = time.monotonic() + 0.15
        assert oven_io.off()
        assert board.heat == "0"
    finally:
        oven_io.close()
        board.line.close()


def test_a_board_that_stays_busy_has_given_no_reading_and_taken_nothing() -> None:
    board = Micro(busy="?", busy_s=0.0)
    oven_io = open_oven_io(oven(board.line.path, BUSY), RealClock())
    try:
        oven_io.connect()
        assert oven_io.drive(ON)
        board.free_s = time.monotonic() + 60.0
        began_s = time.monotonic()
        seen = oven_io.scan(0.0)
        assert time.monotonic() - began_s < 1.0
        assert seen.process.quality is Quality.NO_REPLY
        assert seen.heat_on is None
        assert not oven_io.feed()
        assert not oven_io.drive(ON)
        assert not oven_io.off()
        board.free_s = 0.0
        assert oven_io.off()
        assert board.heat == "0"
    finally:
        oven_io.close()
        board.line.close()


def test_an_answer_of_one_word_is_asked_about_as_a_word_for_busy() -> None:
    board = Micro(busy="BUSY")
    board.free_s = time.monotonic() + 60.0
    probe = Probe(oven(board.line.path), RealClock())
    try:
        (found,) = probe.answers()
        assert 'busy_words = ["BUSY"]' in found.say
    finally:
        probe.close()
        board.line.close()


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ('busy_words = ["#OK"]', "busy_words: #OK is an answer too"),
        ('busy_words = ["nan"]\nopen_words = ["nan"]', "busy_words: nan stands in open_words too"),
        ('busy_words = ["WAIT\\nMORE"]', "busy_words: a word stands in one line"),
        ('open_words = ["NO\\nPROBE"]', "open_words: a word stands in one line"),
        ('words = { heater = ["OFF\\nEND", "ON"] }', "words.heater.*a word stands in one line"),
        ("words = { heater = ['OFF\\nEND', 'ON'] }", "words.heater.*a word stands in one line"),
        ('banner = "READY\\nV1"', "banner: .* one line"),
        ('who = "WHO\\nARE"', "who: .* one line"),
    ],
)
def test_words_that_cannot_be_are_refused_in_a_clear_line(keys: str, says: str) -> None:
    with pytest.raises(ConfigError, match=says):
        oven("/dev/ttyX", keys)


def test_a_word_for_busy_may_come_without_the_checksum_of_an_answer() -> None:
    board = Micro(rest, rest, busy="WAIT", busy_s=0.1)
    oven_io = open_oven_io(
        oven(board.line.path, f'checksum = "xor8"\nchecksum_after = "$#"\n{BUSY}'), RealClock()
    )
    try:
        oven_io.connect()
        board.free_s = time.monotonic() + 0.1
        assert oven_io.scan(0.0).process.value == 21.5
    finally:
        oven_io.close()
        board.line.close()
