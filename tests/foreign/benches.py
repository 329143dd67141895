"""Whole foreign benches: an oven in two lines of physics behind a pymodbus server or a plain script.

Nothing of `simulator/` is in them. Each can be set up and heated by kilnctl as a maker's own: its coils drop
by a dead-man of its own, its sensor is warmed by a hand, its cable is pulled, its supply switched off.
In `tests/`, `python -m foreign.benches NAME` leaves one standing and prints its port.
"""

import asyncio
import contextlib
import os
import pty
import random
import select
import struct
import sys
import threading
import time
import tty

from foreign.firmware_board import Desk
from foreign.wires import OnAPty, OnASocket, Talk, Unit, floats, lines, rtu
from pymodbus.server import ModbusSerialServer, ModbusTcpServer
from pymodbus.simulator import DataType, SimData, SimDevice

ROOM_C = 20.0
HOLDS_S = 5.0
LAMP = 2  # the coil of the lamp


class Air:
    """An oven and its sensor, in real time. `limit_c` is what the independent limit is set to."""

    def __init__(self) -> None:
        self.air_c = self.seen_c = self.peak_c = ROOM_C
        self.hand_k, self.limit_c, self.tripped = 0.0, 275.0, False
        self.door_open = self.broken = self.stopped = self.lamp = False
        self._dice, self._at_s = random.Random(7), time.monotonic()

    def step(self, heat: float) -> float:
        """Let the time pass since the last step; return what the sensor reads in °C."""
        now_s = time.monotonic()
        dt_s, self._at_s = now_s - self._at_s, now_s
        self.tripped |= self.air_c > self.limit_c
        live = heat * (not (self.tripped or self.door_open or self.stopped))
        self.air_c += dt_s * (0.3 * live * (not self.lamp) - (self.air_c - ROOM_C) / 600.0)
        self.seen_c += (self.air_c - self.seen_c) * min(1.0, dt_s / 8.0)
        self.peak_c = max(self.peak_c, self.air_c)
        self.live = live > 0.0
        return self.seen_c + self.hand_k + self._dice.gauss(0.0, 0.05)

    live = False


class Board:
    """What every bench has: an oven, a dead-man that holds for a while, a cable, a supply."""

    holds_s = HOLDS_S

    def __init__(self) -> None:
        self.air, self.cable, self._fed_until_s = Air(), True, 0.0

    def on_a_pty(self, talk: Talk) -> str:
        """Put what answers bytes on a pseudo-terminal; a pulled cable hears nothing."""
        line = OnAPty(lambda came: talk(came) if self.cable else (len(came), b""))
        self.path, self.close = line.path, line.close
        return line.path

    def feed(self) -> None:
        self._fed_until_s = time.monotonic() + self.holds_s

    @property
    def fed(self) -> bool:
        return time.monotonic() < self._fed_until_s

    def power_off(self) -> None:
        self._fed_until_s = 0.0

    lit = False
    path = ""

    def close(self) -> None: ...


class Registers(Board):
    """The usual relay board: coils 0 and 1, contact 0, temperature in input 0, dead-man in holding 0."""

    def __init__(self) -> None:
        super().__init__()
        self.unit = Unit(
            coil=dict.fromkeys(range(8), 0), discrete={0: 0, 1: 0}, input={0: 200, 1: 0},
            holding={0: 0, 50: 41},
        )  # fmt: skip
        self.unit.wrote, self.unit.looks = self._wrote, self.look

    @property
    def lit(self) -> bool:
        """True while the lamp is on."""
        return bool(self.unit.tables["coil"][LAMP])

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        if (table, first) == ("holding", 0):
            self.feed()

    def look(self) -> None:
        if not self.fed:
            self.unit.tables["coil"].update({0: 0, 1: 0})
        self.show()

    def show(self) -> None:
        coils = self.unit.tables["coil"]
        read_c = self.air.step(coils[0] and coils[1])
        self.unit.tables["discrete"].update({0: int(self.air.live), 1: int(self.air.door_open)})
        self.unit.tables["input"][0] = 32767 if self.air.broken else round(10 * read_c) & 0xFFFF


class Switched(Board):
    """A board whose heat and lamp are switched by words, not in registers."""

    def __init__(self) -> None:
        super().__init__()
        self.heat = self.lit = False

    def look(self) -> float:
        """Return what the sensor reads; a dead-man that has run out has dropped the heat."""
        self.heat = self.heat and self.fed
        return self.air.step(self.heat)

    def power_off(self) -> None:
        super().power_off()
        self.heat = False


class Timer(Registers):
    """Coils that stay, and an off-delay timer relay that edges of coil 1 start anew; discrete 0 tells."""

    _level = 0

    def _wrote(self, table: str, first: int, values: list[int]) -> None:
        if (table, first) == ("coil", 1):
            if values[0] and not self._level:
                self.feed()
            self._level = values[0]

    def look(self) -> None:
        coils = self.unit.tables["coil"]
        read_c = self.air.step(coils[0] and self.fed)
        self.unit.tables["discrete"][0] = int(self.air.live)
        self.unit.tables["input"][0] = round(10 * read_c)

    def power_off(self) -> None:
        super().power_off()
        self.unit.tables["coil"].update({0: 0, 1: 0})


def scripted(board: Registers) -> Registers:
    """Put a board on a pseudo-terminal, as a plain script."""
    board.on_a_pty(rtu({1: board.unit}))
    return board


class Words(Switched):
    """A microcontroller with words of its own; ALIVE feeds its dead-man."""

    def __init__(self) -> None:
        super().__init__()
        self.on_a_pty(lines(self._answer))

    def _answer(self, line: str) -> str | None:
        read_c = self.look()
        if line == "READ":
            word = "FAULT" if self.air.broken else f"{read_c:.1f}"
            door = "OPEN" if self.air.door_open else "SHUT"
            heat, lamp = ("ON" if on else "OFF" for on in (self.heat, self.lit))
            return f"T={word}\nDOOR {door}\nHEAT {heat}\nLAMP {lamp}\nEND\n"
        if line in ("HEAT ON", "HEAT OFF"):
            self.heat = line == "HEAT ON" and self.fed
            return f"HEAT IS {line[5:]}\n"
        if line in ("LAMP ON", "LAMP OFF"):
            self.lit = line == "LAMP ON"
            return f"LAMP IS {line[5:]}\n"
        if line == "ALIVE":
            self.feed()
            return "OK\n"
        return None


class Panel(Board):
    """A panel instrument that regulates by itself and goes on when nobody speaks; floats, low word first."""

    def __init__(self) -> None:
        super().__init__()
        self.unit = Unit(holding=dict.fromkeys(range(20), 0), discrete={0: 0}, coil={0: 0, LAMP: 0})
        self.unit.looks = self._look
        self.on_a_pty(rtu({5: self.unit}))

    @property
    def lit(self) -> bool:
        """True while the lamp is on."""
        return bool(self.unit.tables["coil"][LAMP])

    def _look(self) -> None:
        cells = self.unit.tables["holding"]
        goal_c = struct.unpack(">f", struct.pack(">HH", cells[11], cells[10]))[0]
        heat = goal_c > 30.0 and self.air.seen_c < goal_c - 1.0
        read_c = self.air.step(heat)
        self.unit.tables["discrete"][0] = int(self.air.live)
        cells.update(zip((0, 1), floats(read_c, low_word_first=True), strict=True))

    def power_off(self) -> None:
        self.unit.tables["holding"].update({10: 0, 11: 0})


class Served(Registers):
    """The usual relay board as pymodbus serves it: over TCP or, with `serial`, on a pseudo-terminal."""

    def __init__(self, serial: bool = False) -> None:
        super().__init__()
        self._serial, self._ready, self._ends = serial, threading.Event(), []
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(
            target=self._loop.run_until_complete, args=(self._serve(),), daemon=True
        )
        self._thread.start()
        assert self._ready.wait(10)

    def _device(self) -> SimDevice:
        bits, words = DataType.BITS, DataType.REGISTERS
        return SimDevice(1, simdata=(
            [SimData(0, values=[False] * 16, datatype=bits)],
            [SimData(0, values=[False] * 16, datatype=bits)],
            [SimData(0, values=[0] * 50 + [41], datatype=words)],
            [SimData(0, values=[200, 0], datatype=words)],
        ))  # fmt: skip

    async def _serve(self) -> None:
        self._done = asyncio.Event()
        if self._serial:
            self.path, there = self._bridge()
            server = ModbusSerialServer(self._device(), port=there, baudrate=19200, trace_pdu=self._seen)
        else:
            server = ModbusTcpServer(self._device(), address=("127.0.0.1", 0), trace_pdu=self._seen)
        await server.serve_forever(background=True)
        if not self._serial:
            self.path = await self._behind_a_cable(server.transport.sockets[0].getsockname()[1])
        self._ready.set()
        while not self._done.is_set():
            await self._pass(server)
            await asyncio.sleep(0.02)
        await server.shutdown()

    def _seen(self, sending: bool, pdu):
        if not sending and pdu.function_code == 6 and pdu.address == 0:
            self.feed()
        return pdu

    async def _pass(self, server) -> None:
        coils = await server.async_getValues(1, 1, 0, 3)
        self.unit.tables["coil"].update({n: int(on) for n, on in enumerate(coils)})
        self.look()
        tables = self.unit.tables
        if not self.fed and any(coils[:2]):
            await server.async_setValues(1, 15, 0, [False, False])
        await server.async_setValues(1, 2, 0, [bool(tables["discrete"][n]) for n in (0, 1)])
        await server.async_setValues(1, 4, 0, [tables["input"][0]])

    async def _behind_a_cable(self, port: int) -> str:
        """Return a network address whose bytes reach the server while the cable is in, and are lost else."""

        async def copy(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            with contextlib.closing(writer), contextlib.suppress(ConnectionError):
                while data := await reader.read(512):
                    if self.cable:
                        writer.write(data)

        async def join(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            inner = await asyncio.open_connection("127.0.0.1", port)
            await asyncio.gather(copy(reader, inner[1]), copy(inner[0], writer))

        before = await asyncio.start_server(join, "127.0.0.1", 0)
        return f"tcp://127.0.0.1:{before.sockets[0].getsockname()[1]}"

    def _bridge(self) -> tuple[str, str]:
        """Two pseudo-terminals and a thread that copies bytes while the cable is in."""
        masters, slaves = zip(*[pty.openpty() for _ in range(2)], strict=True)
        for end in slaves:
            tty.setraw(end)
        self._ends = [*masters, *slaves]
        other = dict(zip(masters, reversed(masters), strict=True))

        def copy() -> None:
            while not self._done.is_set():
                for end in select.select(masters, [], [], 0.2)[0]:
                    data = os.read(end, 512)
                    if self.cable:
                        os.write(other[end], data)

        threading.Thread(target=copy, daemon=True).start()
        return os.ttyname(slaves[0]), os.ttyname(slaves[1])

    def close(self) -> None:
        self._loop.call_soon_threadsafe(self._done.set)
        self._thread.join(5)


class Firmware(Board):
    """The reference firmware compiled for this machine, on a pseudo-terminal in real time; its pins drive.

    `pins` are its own log: seconds, and what the pins of heater, contactor and lamp did then.
    """

    def __init__(self) -> None:
        super().__init__()
        self._desk, self._at_s = Desk(), time.monotonic()
        self.pins: list[tuple[float, tuple[int, int, int]]] = [(self._at_s, self._desk.pins())]
        self._line = OnAPty(self._talk)
        self.path, self.close = self._line.path, self._line.close

    def _talk(self, came: bytes) -> tuple[int, bytes]:
        now_s = time.monotonic()
        if now_s - self._at_s >= 0.01 or came:
            heater, contactor, _ = self.pins[-1][1]
            read_c = self.air.step(heater / 1000.0 * contactor)
            self._desk.sensor(None if self.air.broken else read_c)
            self._desk.step(now_s - self._at_s)
            self._at_s = now_s
        said = self._desk.take(came if self.cable else b"")
        if (pins := self._desk.pins()) != self.pins[-1][1]:
            self.pins.append((now_s, pins))
        return len(came), said if self.cable else b""

    @property
    def lit(self) -> bool:
        """True while the lamp's pin is high."""
        return bool(self.pins[-1][1][2])

    def power_off(self) -> None:
        self._desk.start()


class OnANetwork(Registers):
    """The usual relay board behind a converter that carries the serial line's frames over TCP."""

    def __init__(self) -> None:
        super().__init__()
        self._socket = OnASocket({1: self.unit}, raw=True, hears=lambda: self.cable)
        self.path, self.close = f"socket://127.0.0.1:{self._socket.port}", self._socket.close


BENCHES = {
    "pymodbus-tcp": Served,
    "rtu-over-tcp": OnANetwork,
    "firmware": Firmware,
    "pymodbus-pty": lambda: Served(serial=True),
    "relay-script": lambda: scripted(Registers()),
    "words": Words,
    "panel": Panel,
    "timer": lambda: scripted(Timer()),
}


def stand(name: str) -> None:
    """Leave a bench standing; what is typed happens at it, like "hand_k 5", "cable 0", "off"."""
    bench = BENCHES[name]()
    print(bench.path, flush=True)
    for line in sys.stdin:
        word, _, value = line.strip().partition(" ")
        if word == "off":
            bench.power_off()
        elif word == "cable":
            bench.cable = value != "0"
        elif word:
            setattr(bench.air, word, type(getattr(bench.air, word))(float(value)))
        print({k: v for k, v in vars(bench.air).items() if not k.startswith("_")}, flush=True)
    bench.close()


if __name__ == "__main__":
    stand(sys.argv[1])
