"""Ovens on a network: pymodbus's server as the good peer, plain sockets as the bad ones."""

import asyncio
import contextlib
import socket
import struct
import subprocess
import sys
import threading
import time

import pytest
from foreign.wires import OnASocket, Unit
from pymodbus.server import ModbusTcpServer
from pymodbus.simulator import DataType, SimData, SimDevice

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.emergency_off import off_all
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.network import ModbusTcpLine
from kilnctl.devices.oven_io import open_oven_io
from kilnctl.devices.probing.probe import Probe
from kilnctl.errors import ConfigError, DeviceError, PortLost, RunRefused
from kilnctl.marks import running_ovens
from kilnctl.marks.ovens_in_charge import in_charge
from kilnctl.readings import Quality
from kilnctl.tomlfile import loads

pytestmark = pytest.mark.real_bytes
ON = HeatRequest(True, 1.0)
OVEN = """
name = "on-a-network"
use = "hardening"
build = "brick"
power = "2400 W"
limit = "1000 C"
isolator = "red switch"
switching = { kind = "solid-state" }
[port.lan]
path = "PATH"
timeout = "0.2 s"
[device.relays]
port = "lan"
address = 1
[signal.process]
device = "relays"
table = "holding"
register = 0
scale = 0.1
unit = "C"
low = "-20 C"
high = "1300 C"
[output.heater]
device = "relays"
table = "coil"
register = 0
[[identity]]
device = "relays"
table = "holding"
register = 9
expect = 4711
[dead_man]
device = "relays"
table = "holding"
register = 5
write = 5
drops_after = "5 s"
"""


def oven(path: str, text: str = OVEN) -> Oven:
    return loads(text.replace("PATH", path), Oven, ConfigError, "lan.toml")


def unit() -> Unit:
    return Unit(holding={0: 213, **dict.fromkeys(range(1, 9), 0), 9: 4711}, coil={0: 0})


class Pymodbus:
    """pymodbus's TCP server in a thread of its own."""

    def __init__(self) -> None:
        words = SimData(0, values=[213, 0, 0, 0, 0, 0, 0, 0, 0, 4711], datatype=DataType.REGISTERS)
        bits = SimData(0, values=[False] * 16, datatype=DataType.BITS)
        self._device = SimDevice(1, simdata=([bits], [bits], [words], [words]))
        self._loop, self._ready = asyncio.new_event_loop(), threading.Event()
        with socket.create_server(("127.0.0.1", 0)) as free:
            self.port = free.getsockname()[1]
        self._thread = threading.Thread(target=self._loop.run_until_complete, args=(self._serve(),))
        self._thread.start()
        assert self._ready.wait(10)

    async def _serve(self) -> None:
        self._server = ModbusTcpServer(self._device, address=("127.0.0.1", self.port))
        await self._server.serve_forever(background=True)
        self._end = asyncio.Event()
        self._ready.set()
        await self._end.wait()
        await self._server.shutdown()

    def close(self) -> None:
        self._loop.call_soon_threadsafe(self._end.set)
        self._thread.join()
        self._loop.close()


@pytest.fixture
def left():
    left = []
    yield left
    for one in reversed(left):
        one.close()


def hands_at(peer, left, kind: str = "tcp", text: str = OVEN):
    oven_io = open_oven_io(oven(f"{kind}://127.0.0.1:{peer.port}", text), RealClock())
    left.extend([peer, oven_io])
    return oven_io


def heats(oven_io) -> None:
    oven_io.connect()
    assert oven_io.scan(0.0).process.value == pytest.approx(21.3)
    assert oven_io.drive(ON)
    assert oven_io.feed()
    seen = oven_io.scan(1.0)
    assert (seen.heat_on, seen.link.misses, seen.link.foreign) == (True, 0, 0)
    assert oven_io.off()
    assert oven_io.scan(2.0).heat_on is False


def test_an_independent_server_is_heated_and_goes_off(left) -> None:
    heats(hands_at(Pymodbus(), left))


@pytest.mark.parametrize("kind", ["tcp", "socket"])
def test_a_plain_peer_is_heated_and_goes_off(left, kind: str) -> None:
    board = unit()
    heats(hands_at(OnASocket({1: board}, raw=kind == "socket"), left, kind))
    assert board.tables["coil"][0] == 0
    assert ("holding", 5, [5]) in board.written


def test_a_refusal_is_an_answer_at_once(left) -> None:
    oven_io = hands_at(OnASocket({1: unit()}), left, text=OVEN.replace("register = 5", "register = 50"))
    oven_io.connect()
    began_s = time.monotonic()
    assert not oven_io.feed()
    assert time.monotonic() - began_s < 0.15
    assert "refuses" in oven_io.why


def test_a_late_reply_is_never_taken_for_the_next(left) -> None:
    board = unit()
    board.tables["holding"][0] = 213
    slow = [0.0]
    peer = OnASocket({1: board}, manner=lambda head, body: [(slow[0], head + body)])
    oven_io = hands_at(peer, left)
    oven_io.connect()
    slow[0] = 0.3  # after the time-out
    assert oven_io.scan(0.0).process.quality is Quality.NO_REPLY
    slow[0] = 0.0
    time.sleep(0.5)
    oven_io.scan(1.0)
    seen = oven_io.scan(2.0)
    assert seen.process.value == pytest.approx(21.3)
    assert seen.heat_on is False


BAD = {
    "another unit": lambda head, body: [(0.0, head + bytes([9]) + body[1:])],
    "an older transaction": lambda head, body: [(0.0, b"\0\0" + head[2:] + body)],
    "another protocol": lambda head, body: [(0.0, head[:2] + b"\0\7" + head[4:] + body)],
    "no such length": lambda head, body: [(0.0, head[:4] + b"\xff\xff" + body)],
    "cut short": lambda head, body: [(0.0, (head + body)[:8])],
    "junk": lambda head, body: [(0.0, b"HTTP/1.1 400 Bad Request\r\n\r\n")],
    "silence": lambda head, body: [],
    "another function": lambda head, body: [(0.0, head + body[:1] + bytes([body[1] ^ 7]) + body[2:])],
}


@pytest.mark.parametrize("manner", BAD.values(), ids=BAD)
def test_a_bad_peer_is_no_reading_and_no_heat_and_recovers(left, manner) -> None:
    bad = [False]
    peer = OnASocket({1: unit()}, manner=lambda h, b: manner(h, b) if bad[0] else [(0.0, h + b)])
    oven_io = hands_at(peer, left)
    oven_io.connect()
    assert oven_io.scan(0.0).process.good
    bad[0] = True
    began_s = time.monotonic()
    seen = oven_io.scan(1.0)
    assert not seen.process.good
    assert seen.heat_on is None
    assert not oven_io.drive(ON)
    assert not oven_io.off()
    assert time.monotonic() - began_s < 3.0
    bad[0] = False
    oven_io.scan(2.0)
    oven_io.scan(3.0)
    assert oven_io.scan(4.0).process.good
    assert oven_io.off()


WHOLE = {
    "another unit": BAD["another unit"],
    "another function": BAD["another function"],
    "a refusal": lambda head, body: [(0.0, head[:5] + b"\3" + body[:1] + bytes([body[1] | 0x80, 4]))],
}


@pytest.mark.parametrize("manner", WHOLE.values(), ids=WHOLE)
def test_a_wrong_answer_that_came_whole_costs_no_quiet_wait(left, manner) -> None:
    """A tick against such a peer took 3 s of waits that nothing needs: its transaction number is the tie."""
    bad = [False]
    peer = OnASocket({1: unit()}, manner=lambda h, b: manner(h, b) if bad[0] else [(0.0, h + b)])
    oven_io = hands_at(peer, left)
    oven_io.connect()
    bad[0] = True
    began_s = time.monotonic()
    assert not oven_io.scan(1.0).process.good
    assert not oven_io.off()
    assert time.monotonic() - began_s < 0.3  # six exchanges; 0.1 s after each was 0.6 s and more


def test_a_peer_that_never_stops_talking_ends_with_its_time(left) -> None:
    """Whole frames of an older transaction, faster than they can be read: the time-out counts anyway."""
    server = socket.create_server(("127.0.0.1", 0))
    left.append(server)
    old = struct.pack(">HHHB", 60000, 0, 3, 1) + b"\x01\x00"

    def flood() -> None:
        caller, _ = server.accept()
        with caller, contextlib.suppress(OSError):
            caller.recv(100)
            while True:
                caller.sendall(old * 1000)

    threading.Thread(target=flood, daemon=True).start()
    line = ModbusTcpLine(f"tcp://127.0.0.1:{server.getsockname()[1]}", 0.2, exclusive=False)
    line.write(b"\x01\x03\x00\x00\x00\x01\x00\x00")
    came: list[bytes] = []
    reader = threading.Thread(target=lambda: came.append(line.read(7)), daemon=True)
    reader.start()
    reader.join(10.0)
    ended = not reader.is_alive()
    line.close()
    assert ended
    assert came == [b""]


def test_a_reply_in_pieces_is_whole(left) -> None:
    heats(
        hands_at(OnASocket({1: unit()}, manner=lambda h, b: [(0.01, h[:3]), (0.01, h[3:]), (0.01, b)]), left)
    )


def test_a_connection_that_is_lost_is_a_lost_link_and_comes_back_with_off_first(left) -> None:
    board = unit()
    peer = OnASocket({1: board})
    oven_io = hands_at(peer, left)
    oven_io.connect()
    assert oven_io.drive(ON)
    peer.drop()
    board.written.clear()
    assert not oven_io.scan(1.0).process.good or oven_io.oven
    time.sleep(0.6)
    oven_io.scan(2.0)
    assert board.written[:1] == [("coil", 0, [0])]
    assert peer.connections == 2
    assert oven_io.scan(3.0).heat_on is False


def test_another_device_at_the_address_is_refused(left) -> None:
    board = unit()
    board.tables["holding"][9] = 12
    oven_io = hands_at(OnASocket({1: board}), left)
    with pytest.raises(Exception, match="holds 12, not 4711: another device answers"):
        oven_io.connect()


def test_one_owner_on_this_computer(left) -> None:
    peer = OnASocket({1: unit()})
    hands_at(peer, left).connect()
    other = open_oven_io(oven(f"tcp://127.0.0.1:{peer.port}"), RealClock())
    with pytest.raises(PortLost, match="in use by another program"):
        other.connect()
    other.close()


def test_off_alone_works_beside_a_stuck_owner_and_is_quick(left) -> None:
    board = unit()
    peer = OnASocket({1: board})
    oven_io = hands_at(peer, left)
    oven_io.connect()
    assert oven_io.drive(ON)
    began_s = time.monotonic()
    assert off_all([oven_io.oven], RealClock(), share=True) == {"on-a-network": True}
    assert time.monotonic() - began_s < 1.0
    assert board.tables["coil"][0] == 0


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("tcp://8.8.8.8:502", "not on a network of your own"),
        ("tcp://192.0.2.7:502", "not on a network of your own"),
        ("tcp://[2001:db8::1]:502", "not on a network of your own"),
        ("tcp://oven.local:502", "write the address in numbers"),
        ("tcp://192.168.4.20", "write the address in numbers"),
        ("tcp://192.168.4.20:0", "between 1 and 65535"),
        ("tcp://192.168.4.0/24:502", "write the address in numbers"),
        ("tcp://:502", "write the address in numbers"),
    ],
)
def test_addresses_that_are_refused(path: str, said: str) -> None:
    with pytest.raises(ConfigError, match=said):
        oven(path)


@pytest.mark.parametrize("path", ["tcp://10.1.2.3:502", "socket://172.31.0.9:4001", "tcp://[fd12::7]:502"])
def test_addresses_of_ones_own_network(path: str) -> None:
    assert oven(path).port["lan"].path == path


def test_a_speed_makes_no_sense_on_a_network() -> None:
    with pytest.raises(ConfigError, match="has no baud"):
        oven("tcp://10.0.0.7:502", OVEN.replace('timeout = "0.2 s"', "baud = 9600"))


def test_a_simulated_oven_is_never_on_a_network(left) -> None:
    oven_io = hands_at(OnASocket({1: unit()}), left, text="simulated = true\n" + OVEN)
    with pytest.raises(RunRefused, match="is a real port"):
        oven_io.connect()


def test_nobody_there_is_said_quickly() -> None:
    with socket.create_server(("127.0.0.1", 0)) as free:
        number = free.getsockname()[1]
    began_s = time.monotonic()
    probe = Probe(oven(f"tcp://127.0.0.1:{number}"), RealClock())
    assert "nothing is listening there" in probe.ports()[0].say
    probe.close()
    assert time.monotonic() - began_s < 1.0


def test_a_wrong_unit_names_the_one_that_answers(left) -> None:
    peer = OnASocket({3: unit()})
    left.append(peer)
    quick = OVEN.replace('"0.2 s"', '"0.05 s"')
    probe = Probe(oven(f"tcp://127.0.0.1:{peer.port}", quick), RealClock(), addresses=range(1, 6))
    left.append(probe)
    assert "but address 3 does" in probe.answers()[0].say


def test_a_device_that_takes_any_unit_is_no_stranger(left) -> None:
    peer = OnASocket({1: unit()}, any_unit=True)
    probe = Probe(oven(f"tcp://127.0.0.1:{peer.port}"), RealClock())
    left.extend([peer, probe])
    assert all(found.good for found in (*probe.ports(), *probe.echo(), *probe.answers(), *probe.strangers()))


def test_off_loads_no_network_library_for_an_oven_on_a_serial_line() -> None:
    code = "import sys, kilnctl.devices.emergency_off; print(*(m in sys.modules for m in ('asyncio', 'ssl')))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]
    assert struct.calcsize(">HHHB") == 7


def test_off_leaves_out_a_board_that_is_off_at_the_wall_unless_it_may_be_hot(left, own_home) -> None:
    peer = OnASocket({1: unit()})
    text = OVEN.replace("PATH", f"tcp://127.0.0.1:{peer.port}")
    (own_home / "ovens").mkdir()
    (own_home / "ovens" / "lan.toml").write_text(text)
    assert set(in_charge(None)) == {"on-a-network"}
    peer.close()
    assert set(in_charge(None)) == set()
    running_ovens.mark("on-a-network", text)
    assert set(in_charge(None)) == {"on-a-network"}


def test_a_board_that_answers_as_unit_255_is_asked_for_as_that(left) -> None:
    """255 means the device that is connected (messaging guide 1.0b, 4.4.2.5): some boards answer so only."""
    peer = OnASocket(
        {255: unit()}, manner=lambda head, body: [(0.0, head + b"\xff" + body[1:])], any_unit=True
    )
    left.append(peer)
    for address, good in (("255", True), ("1", False)):
        text = OVEN.replace("address = 1", f"address = {address}")
        oven_io = open_oven_io(oven(f"tcp://127.0.0.1:{peer.port}", text), RealClock())
        with contextlib.nullcontext() if good else pytest.raises(DeviceError, match="unit 255 answers"):
            oven_io.connect()
        assert oven_io.scan(0.0).process.good is good
        oven_io.close()
