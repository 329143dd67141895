"""How late the ticks of two ovens on one 9600 baud line begin, in real time on a pseudo-terminal.

Run by name: `KILNCTL_BENCH_TICKS=600 pytest tests/bench/test_two_ovens_lateness.py -m on_demand -s`. All
10,000 ticks of one second take nearly three hours. The far end answers no faster than 9600 baud would, and a
third thread only waits, to show what the machine's own load adds.
"""

import os
import pty
import struct
import threading
import time
import tty

import pytest

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.buses import Buses
from kilnctl.devices.hands import WiredHands
from kilnctl.devices.roles import HeatRequest
from kilnctl.errors import ConfigError, DeviceError
from kilnctl.tomlfile import loads

pytestmark = [pytest.mark.on_demand, pytest.mark.real_bytes]

OVEN = """
name = "NAME"
limit = "260 C"
power = "1200 W"
build = "leaky"
use = "tempering"
isolator = "switch by the door"
switching = { kind = "solid-state" }
port.bus = { path = "PATH", baud = 9600 }
device.board = { port = "bus", address = 1 }
[signal.process]
device = "board"
table = "input"
register = 0
scale = 0.1
unit = "C"
low = "0 C"
high = "300 C"
[output]
heater = { device = "board", table = "coil", register = 0 }
[dead_man]
device = "board"
table = "holding"
register = 0
write = 10
drops_after = "10 s"
"""


def crc(data):
    value = 0xFFFF
    for byte in data:
        value ^= byte
        for _ in range(8):
            value = value >> 1 ^ (0xA001 if value & 1 else 0)
    return struct.pack("<H", value)


class Slaves(threading.Thread):
    """Addresses 1 and 2, at the pace of 9600 baud; address 1 is dead in every other ten seconds if asked."""

    def __init__(self, dying):
        super().__init__(daemon=True)
        self.master, self.end = pty.openpty()
        tty.setraw(self.end)
        self.coil = {1: 0, 2: 0}
        self.dying = dying

    def run(self):
        while True:
            request = os.read(self.master, 64)
            if len(request) != 8 or (self.dying and request[0] == 1 and int(time.monotonic()) // 10 % 2):
                continue
            reply = self.reply(request)
            time.sleep((len(request) + len(reply)) * 10 / 9600 + 0.005)
            os.write(self.master, reply)

    def reply(self, request):
        if request[1] == 5:
            self.coil[request[0]] = request[4] & 1
        if request[1] == 3:
            return request[:1] + b"\x83\x02" + crc(request[:1] + b"\x83\x02")
        bodies = {1: bytes([1, self.coil[request[0]]]), 4: b"\x02\x00\xc8"}
        body = request[:2] + bodies[request[1]] if request[1] in bodies else request[:6]
        return body + crc(body)


def oven(name, path, address):
    text = OVEN.replace("NAME", name).replace("PATH", path).replace("address = 1", f"address = {address}")
    return loads(text, Oven, ConfigError, name)


def connected(hands):
    try:
        hands.connect()
    except DeviceError:
        return False
    return True


@pytest.mark.parametrize("dying", [False, True], ids=["both alive", "one dead half of the time"])
def test_lateness(dying):
    ticks = int(os.environ.get("KILNCTL_BENCH_TICKS", "10000"))
    slaves = Slaves(dying)
    slaves.start()
    clock, late = RealClock(), {0: [], 1: [], 2: []}
    buses, stop = Buses(clock), threading.Event()

    def beat(address):
        hands = WiredHands(oven(f"oven-{address}", os.ttyname(slaves.end), address), buses, clock)
        while not connected(hands):
            clock.pause(0.5)
        deadline_s = clock.now_s()
        for tick in range(ticks):
            deadline_s += 1.0
            clock.wait_until(deadline_s, stop)
            late[address].append(clock.now_s() - deadline_s)
            scan = hands.scan(deadline_s)
            if scan.process.good:
                hands.drive(HeatRequest(tick % 10 < 5, 0.5))
                hands.feed()
            else:
                hands.off()
        hands.close()

    def idle():
        deadline_s = clock.now_s()
        for _ in range(ticks):
            deadline_s += 1.0
            clock.wait_until(deadline_s, stop)
            late[0].append(clock.now_s() - deadline_s)

    threads = [threading.Thread(target=beat, args=(address,)) for address in (1, 2)]
    threads.append(threading.Thread(target=idle))
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for address, values in late.items():
        ranked = sorted(values)
        high = ranked[min(len(ranked) - 1, int(len(ranked) * 0.999))]
        name = f"oven {address}" if address else "a thread that only waits"
        print(f"\n{name}: median {1e3 * ranked[len(ranked) // 2]:.1f} ms, 99.9th {1e3 * high:.1f} ms")
