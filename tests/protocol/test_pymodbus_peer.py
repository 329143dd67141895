"""Our master against an independent slave: pymodbus's serial server, over two bridged pseudo-terminals."""

import asyncio
import os
import pty
import select
import threading
import tty

import pytest
from pymodbus.server import ModbusSerialServer
from pymodbus.simulator import DataType, SimData, SimDevice

from kilnctl.clock import RealClock
from kilnctl.config.device_keys import ModbusDevice, Port
from kilnctl.config.places import Place
from kilnctl.config.wiring import Output
from kilnctl.devices.bus import Bus
from kilnctl.devices.languages.modbus import ModbusBoard
from kilnctl.errors import DeviceRefused, NoReply, PortLost

pytestmark = pytest.mark.real_bytes


class Bridge:
    """Two pseudo-terminals and a thread that copies bytes between them."""

    def __init__(self):
        self.masters, slaves = zip(*[pty.openpty() for _ in range(2)], strict=True)
        for end in slaves:
            tty.setraw(end)
        self._slaves = slaves
        self.here, self.there = (os.ttyname(end) for end in slaves)
        self._stop_r, self._stop_w = os.pipe()
        self._thread = threading.Thread(target=self._copy)
        self._thread.start()

    def _copy(self):
        other = dict(zip(self.masters, reversed(self.masters), strict=True))
        while True:
            ready, _, _ = select.select([*self.masters, self._stop_r], [], [])
            if self._stop_r in ready:
                return
            for end in ready:
                os.write(other[end], os.read(end, 512))

    def close(self):
        os.write(self._stop_w, b"x")
        self._thread.join()
        for end in (*self.masters, *self._slaves, self._stop_r, self._stop_w):
            os.close(end)


class Server:
    """A pymodbus server in a thread of its own."""

    def __init__(self, path):
        self._path = path
        self._loop = asyncio.new_event_loop()
        self._ready = threading.Event()
        self._thread = threading.Thread(target=self._loop.run_until_complete, args=(self._serve(),))
        self._thread.start()
        assert self._ready.wait(5)

    async def _serve(self):
        bits, words = DataType.BITS, DataType.REGISTERS
        tables = (
            [SimData(0, values=[False] * 32, datatype=bits)],
            [SimData(0, values=[True, False, True] + [False] * 29, datatype=bits)],
            [SimData(0, values=[0] * 16, datatype=words)],
            [SimData(0, values=[8305, 0xFFC9, 0x444B, 0xE000, 0xE000, 0x444B], datatype=words)],
        )
        self._done = asyncio.Event()
        server = ModbusSerialServer(SimDevice(1, simdata=tables), port=self._path, baudrate=115200)
        await server.serve_forever(background=True)
        self._ready.set()
        await self._done.wait()
        await server.shutdown()

    def close(self):
        self._loop.call_soon_threadsafe(self._done.set)
        self._thread.join(5)
        self._loop.close()


@pytest.fixture(scope="module")
def board():
    bridge = Bridge()
    server = Server(bridge.there)
    clock = RealClock()
    bus = Bus(Port(path=bridge.here, baud=115200), clock)
    device = ModbusBoard("board", ModbusDevice(port="bus", address=1), bus, clock)
    bus.open()
    device.greeted = device.epoch
    yield device
    bus.close()
    server.close()
    bridge.close()


def place(table, register, **more):
    return Place(device="board", table=table, register=register, **more)


def output(table, register, **more):
    return Output(device="board", table=table, register=register, **more)


def test_coils_fc05_and_fc15_read_back_by_fc01(board):
    heater, contactor = output("coil", 0), output("coil", 1, multiple=True)
    board.write(heater, 1)
    board.write(contactor, 1)
    assert board.read([heater, contactor, place("coil", 2)]) == [1, 1, 0]
    board.write(heater, 0)
    assert board.read([heater, contactor]) == [0, 1]


def test_discrete_inputs_fc02(board):
    assert board.read([place("discrete", n) for n in range(4)]) == [1, 0, 1, 0]


def test_input_registers_fc04_in_every_format(board):
    found = board.read(
        [
            place("input", 0),
            place("input", 1),
            place("input", 2, format="float32"),
            place("input", 4, format="float32", word_order="low first"),
        ]
    )
    assert found == [8305, -55, 815.5, 815.5]


def test_holding_fc06_and_fc16_read_back_by_fc03(board):
    small, large = output("holding", 3), output("holding", 4, format="int32")
    board.write(small, -7)
    board.write(large, -70000)
    assert board.read([small, large]) == [-7, -70000]


def test_a_register_that_is_not_there_is_refused_by_the_device(board):
    assert isinstance(board.read([place("holding", 500)])[0], DeviceRefused)


def test_a_function_the_peer_lacks_leaves_the_next_exchange_whole(board):
    board.read([place("holding", 500)])
    assert board.read([place("input", 0)]) == [8305]


def test_port_that_goes_away_is_closed_and_found_again():
    """Unplugging, made by closing the master end: minimalmodbus raises termios.error then, for ever."""
    master, slave = pty.openpty()
    tty.setraw(slave)
    path, clock = os.ttyname(slave), RealClock()
    os.close(slave)
    bus = Bus(Port(path=path, baud=115200, timeout="0.05 s"), clock)
    device = ModbusBoard("board", ModbusDevice(port="bus", address=1), bus, clock)
    assert isinstance(device.read([place("input", 0)])[0], NoReply)
    os.close(master)
    device.new_tick()
    assert isinstance(device.read([place("input", 0)])[0], PortLost)
    assert bus.opening == 0
