"""How late the ticks of two ovens on one 9600 baud line begin, in real time on a pseudo-terminal.

Run by name: `pytest tests/bench/test_two_ovens_lateness.py -m on_demand -s`. 10,000 ticks of one second are
shared by four pairs of ovens, each pair on a line and in a process of its own: 42 minutes for each of the two
cases (KILNCTL_BENCH_TICKS and KILNCTL_BENCH_PAIRS change that). The far end answers no faster than 9600 baud
would, and a third thread only waits, to show what the machine's own load adds.
"""

import os
import pty
import struct
import threading
import time
import tty
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import pytest

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.devices.oven_io import WiredIO
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


def connected(oven_io):
    try:
        oven_io.connect()
    except DeviceError:
        return False
    return True


def beat(slaves, buses, address, ticks, late):
    clock, stop = RealClock(), threading.Event()
    oven_io = WiredIO(oven(f"oven-{address}", os.ttyname(slaves.end), address), buses, clock)
    while not connected(oven_io):
        clock.pause(0.5)
    deadline_s = clock.now_s()
    for tick in range(ticks):
        deadline_s += 1.0
        clock.wait_until(deadline_s, stop)
        late.append(clock.now_s() - deadline_s)
        scan = oven_io.scan(deadline_s)
        if scan.process.good:
            oven_io.drive(HeatRequest(tick % 10 < 5, 0.5))
            oven_io.feed()
        else:
            oven_io.off()
    oven_io.close()


def idle(ticks, late):
    clock, stop = RealClock(), threading.Event()
    deadline_s = clock.now_s()
    for _ in range(ticks):
        deadline_s += 1.0
        clock.wait_until(deadline_s, stop)
        late.append(clock.now_s() - deadline_s)


def pair(dying, ticks):
    """Return how late each tick of both ovens, and of the thread that only waits, began."""
    slaves, late = Slaves(dying), {0: [], 1: [], 2: []}
    slaves.start()
    buses = Buses(RealClock())
    threads = [
        threading.Thread(target=beat, args=(slaves, buses, address, ticks, late[address]))
        for address in (1, 2)
    ]
    threads.append(threading.Thread(target=idle, args=(ticks, late[0])))
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return late


def share(values, part):
    return sorted(values)[min(len(values) - 1, int(len(values) * part))]


@pytest.mark.parametrize("dying", [False, True], ids=["alive", "dead"])
def test_lateness(dying):
    ticks, pairs = (
        int(os.environ.get("KILNCTL_BENCH_TICKS", "10000")),
        int(os.environ.get("KILNCTL_BENCH_PAIRS", "4")),
    )
    with ProcessPoolExecutor(pairs, get_context("spawn")) as pool:
        runs = list(pool.map(pair, [dying] * pairs, [ticks // pairs] * pairs))
    late = {name: [value for run in runs for value in run[name]] for name in runs[0]}
    for address, values in late.items():
        name = f"oven {address}" if address else "a thread that only waits"
        median, high, worst = (1e3 * share(values, part) for part in (0.5, 0.999, 1.0))
        print(f"\n{name}, {len(values)} ticks: median {median:.1f} ms, 99.9th {high:.1f}, worst {worst:.1f}")
    assert all(len(values) == ticks // pairs * pairs for values in late.values())
    assert max(share(late[1], 0.999), share(late[2], 0.999)) <= 0.1
