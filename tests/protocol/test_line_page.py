"""The protocol's page is its specification: simulator and master both do what every line of it says.

The CRC of each line is worked out with pymodbus, which shares no code with kilnctl or the simulator.
"""

import re

import pytest
from foreign.firmware_page import CONVERSATION, LONGEST_REPLY, OWN_SENSOR, play
from pymodbus.framer import FramerRTU

from kilnctl.clock import VirtualClock
from kilnctl.config.device_keys import LineDevice, Port
from kilnctl.config.places import Place
from kilnctl.config.wiring import DeadMan, Output
from kilnctl.devices.bus import Bus
from kilnctl.devices.languages.line import LineBoard, framed, unframed
from kilnctl.errors import BadReply, DeviceRefused
from simulator.boards.board import Board
from simulator.oven.ovens import tempering_oven
from simulator.wire.line import Protocol
from simulator.wire.signal_encoding import Wire

FIELDS = {
    "process": Wire("process"),
    "heater": Wire("duty", output=True, on=1000),
    "contactor": Wire("contactor", output=True),
    "lamp": Wire("lamp", output=True),
}
ANSWERED = [row for row in CONVERSATION + OWN_SENSOR if row.due.startswith(b"<")]


def crc_of(text: bytes) -> bytes:
    wire = FramerRTU.compute_CRC(text)  # as on a Modbus wire, low byte in the high place
    return b"%04X" % ((wire & 0xFF) << 8 | wire >> 8)


def test_the_page_has_what_a_maker_must_get_right():
    words = b" ".join(row.sent + row.due for row in CONVERSATION)
    for word in (b"WHO", b"SEE", b"PUT", b"FED", b"OFF", b"!HELLO", b"hungry", b"value", b"unknown"):
        assert word in words
    assert len([row for row in CONVERSATION if row.sent.strip() and not row.due.strip()]) >= 8
    assert len(ANSWERED) > 40
    assert len(LONGEST_REPLY.strip()) == 241


@pytest.mark.parametrize(
    "line",
    [*(text for row in ANSWERED for text in (row.sent, row.due)), LONGEST_REPLY],
    ids=lambda line: line.decode().strip()[:40],
)
def test_the_crc_of_every_line(line):
    body, _, check = line.strip().rpartition(b"*")
    assert check == crc_of(body)


def cold_board():
    """A board whose element has no supply, so that its sensor keeps reading 20 degC."""
    board = Board(tempering_oven(), noise_k=0.0)
    board.plant.volts = 0.0
    return board


def test_the_simulator_answers_every_line():
    board = cold_board()
    talker = Protocol(board, FIELDS, name="carver_bench")
    talker.take(b"", 0.0)

    def take(data):
        got = b"".join(reply for reply, _ in talker.take(data, 0.0))
        simulated = re.fullmatch(
            rb"(<\w\w WHO carver_bench )1 SIM 1\*\w{4}\n", got
        )  # the one allowed addition
        if simulated:
            assert got[-5:-1] == crc_of(got[:-6])
            return simulated[1] + b"1*" + crc_of(simulated[1] + b"1") + b"\n"
        return got

    happens = {"pass": board.step, "the board starts": board.boot}
    assert play(CONVERSATION, take, happens) == []


@pytest.mark.parametrize("row", ANSWERED, ids=lambda row: row.sent.decode().strip())
def test_the_master_sends_and_reads_every_line(row):
    number, words = int(row.sent[1:3], 16), row.sent.decode().strip()[4:-5]
    assert framed(">", number, words) == row.sent
    reply = row.due.decode().strip()
    if b"ERR" in row.due:
        with pytest.raises(DeviceRefused, match=reply[4:-5]):
            unframed(reply, number, "board")
    else:
        assert unframed(reply, number, "board") == reply[4:-5]
    with pytest.raises(BadReply):
        unframed(reply, number + 1, "board")
    with pytest.raises(BadReply):
        unframed(reply.replace("<", "!", 1), number, "board")


class Wired:
    """A port at whose other end a function answers at once."""

    timeout: float | None = 0.2
    is_open = True

    def __init__(self, answer):
        self._answer, self._buffer = answer, b""

    @property
    def in_waiting(self):
        return len(self._buffer)

    def write(self, data):
        self._buffer += self._answer(data)

    def read(self, size=1):
        data, self._buffer = self._buffer[:size], self._buffer[size:]
        return data

    def close(self):
        self.is_open = False


def master(answer, name=None):
    clock = VirtualClock()
    bus = Bus(Port(path="/dev/fake"), clock, opener=lambda port, exclusive: Wired(answer))
    return LineBoard("board", LineDevice(kind="line", port="usb", name=name, banner_wait="0 s"), bus, clock)


def replying(words):
    """Answer every request with the same words, in a whole line."""

    def answer(request):
        text = b"<" + request[1:3] + b" " + words
        return text + b"*" + crc_of(text) + b"\n"

    return answer


def test_the_longest_reply_is_read_whole():
    words = LONGEST_REPLY.strip()[4:-5]
    board = master(replying(words))
    fields = [pair.split("=") for pair in words.decode().split(" ")[1:]]
    read = board.read([Place(device="board", field=name) for name, _ in fields])
    assert read == [float(value) for _, value in fields]


@pytest.mark.parametrize(("size", "good"), [(250, True), (251, True), (253, False), (400, False)])
def test_a_line_that_is_too_long_is_said_to_be_so(size, good):
    """250 characters are a line; one more is let through, as a carriage return might be it."""
    padded = b"SEE process=" + b"1" * 6
    tail = b" lamp_" + b"x" * (size - len(b"<00 *0000") - len(padded) - len(b" lamp_=1")) + b"=1"
    (read,) = master(replying(padded + tail)).read([Place(device="board", field="process")])
    assert read == 111111.0 if good else "more than 250 characters" in str(read)


def test_the_simulator_drops_a_line_that_is_too_long():
    talker = Protocol(cold_board(), FIELDS)
    talker.take(b"", 0.0)
    for size, answered in ((250, True), (251, False), (5000, False)):
        text = b">01 " + b"A" * (size - len(b">01 *0000"))
        line = text + b"*" + crc_of(text) + b"\n"
        assert bool(talker.take(line, 0.0)) is answered, size
        assert talker.take(CONVERSATION[2].sent, 0.0), "the line after it is heard"


def test_two_boards_that_were_swapped_are_told_by_name():
    answer = replying(b"WHO carver_bench 1")
    master(answer, "carver_bench").check_name()
    master(answer).check_name()
    with pytest.raises(BadReply, match="carver_bench answers, not drawknife_oven"):
        master(answer, "drawknife_oven").check_name()


@pytest.mark.parametrize("cut", [b"", b"<", b"<01 SEE proc"])
def test_a_banner_anywhere_in_a_line_is_a_restart(cut):
    board = master(lambda request: cut + b"!HELLO carver_bench 1\n")
    (read,) = board.read([Place(device="board", field="process")])
    assert "has restarted" in str(read)
    assert board.restarts == 1


def test_a_line_feed_before_the_banner_ends_the_broken_reply():
    board = master(lambda request: b"\n!HELLO carver_bench 1\n")
    board.read([Place(device="board", field="process")])
    assert board.restarts == 1


def test_fed_and_put_must_come_back_as_they_were_sent():
    board = master(lambda request: b"<" + request[1:-5] + crc_of(b"<" + request[1:-6]) + b"\n")
    board.write(Output(device="board", field="heater"), 0, force=True)
    board.write(DeadMan(device="board", write=10, drops_after="10 s"), 10, force=True)
    with pytest.raises(BadReply, match="the board says PUT heater 1"):
        master(replying(b"PUT heater 1")).write(Output(device="board", field="heater"), 0, force=True)
