"""The reference firmware compiled for this machine, sound or with a dangerous mistake, and a port to it."""

import atexit
import ctypes
import shutil
import subprocess
import threading
import time
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

import pytest

from kilnctl.clock import VirtualClock

FIRMWARE = Path("kilnctl/devices/firmware")
WRONG_BOARDS = Path("tests/firmware/wrong_boards.c")
WRONGS = ("PUT_FEEDS", "SEE_FEEDS", "ON_AT_BOOT", "NEVER_DROPS")
STRICT = ("-std=c99", "-Wall", "-Wextra", "-Werror", "-pedantic")

needs_compiler = pytest.mark.skipif(
    shutil.which("cc") is None, reason="no C compiler (cc) here: the firmware was not compiled and not tested"
)


def core_of(wrong: str) -> tuple[str, ...]:
    """Return the arguments that compile the core, sound ("") or with one mistake."""
    if not wrong:
        return (str(FIRMWARE / "board_core.c"),)
    return (f"-D{wrong}", f"-I{FIRMWARE}", str(WRONG_BOARDS))


@cache
def built(name: str, *arguments: str) -> Path:
    """Compile and link; once for each set of arguments."""
    made = Path(mkdtemp(prefix="firmware-")) / name
    atexit.register(shutil.rmtree, made.parent, ignore_errors=True)
    subprocess.run(["cc", *STRICT, *arguments, "-o", made], check=True)
    return made


class Desk:
    """The core as a shared library in virtual time; its pins and what it says."""

    def __init__(self, wrong: str = "") -> None:
        made = built("desk.so", "-shared", "-fPIC", *core_of(wrong), str(FIRMWARE / "host_layer.c"))
        mine = made.with_name(f"desk-{id(self)}.so")  # each board its own memory
        shutil.copy(made, mine)
        self._c = ctypes.CDLL(str(mine))
        mine.unlink()
        self.start()

    def start(self) -> None:
        """Give it a reset."""
        self._c.desk_start()

    def clock(self, ms: int) -> None:
        """Set its counter of milliseconds."""
        self._c.desk_clock(ctypes.c_uint32(ms))

    def sensor(self, at_c: float | None) -> None:
        """Let the sensor read a temperature, or None: it is broken."""
        self._c.desk_sensor(ctypes.c_int32(-(2**31) if at_c is None else round(at_c * 100)))

    def step(self, seconds: float) -> None:
        """Let time pass."""
        self._c.desk_pass(ctypes.c_uint32(round(seconds * 1000)))

    def take(self, data: bytes) -> bytes:
        """Send bytes and return all that it has said since the last time."""
        self._c.desk_hear(data, ctypes.c_uint32(len(data)))
        return self.said()

    def said(self) -> bytes:
        """Return all that it has said since the last time."""
        to = ctypes.create_string_buffer(4096)
        count = self._c.desk_sent(to)
        return to.raw[:count]

    def pins(self) -> tuple[int, int, int]:
        """Return what the pins of heater, contactor and lamp do."""
        heater, contactor, lamp = (self._c.board_pin(ctypes.c_uint8(i)) for i in range(3))
        return heater, contactor, lamp


class DeskLine:
    """A serial port to a Desk; a clock that is waited on makes the board's time pass too."""

    timeout: float | None = 0.2
    is_open = True

    def __init__(self, desk: Desk, clock: VirtualClock) -> None:
        self._desk, self._clock, self._then_s, self._buffer = desk, clock, clock.now_s(), b""

    def _catch_up(self) -> None:
        now_s = self._clock.now_s()
        self._desk.step(now_s - self._then_s)
        self._then_s, self._buffer = now_s, self._buffer + self._desk.said()

    @property
    def in_waiting(self) -> int:
        self._catch_up()
        return len(self._buffer)

    def write(self, data: bytes) -> None:
        self._catch_up()
        self._buffer += self._desk.take(data)
        self._clock.advance(0.002)

    def read(self, size: int = 1) -> bytes:
        if not self.in_waiting:
            self._clock.advance(self.timeout or 0.0)
        data, self._buffer = self._buffer[:size], self._buffer[size:]
        return data

    def reset_input_buffer(self) -> None:
        self._buffer = b""

    def close(self) -> None:
        self.is_open = False


OVEN = """
name = "carver_bench"
limit = "300 C"
power = "1200 W"
build = "leaky"
use = "tempering"
isolator = "switch by the door"
switching = { kind = "solid-state" }
[port.usb]
path = "/dev/fake"
baud = 115200
[device.board]
kind = "line"
port = "usb"
name = "carver_bench"
banner_wait = "1 s"
[signal]
process = { device = "board", field = "process", unit = "C", low = "-30 C", high = "400 C" }
[output]
heater = { device = "board", field = "heater", kind = "duty", on = 1000 }
contactor = { device = "board", field = "contactor" }
lamp = { device = "board", field = "lamp" }
[dead_man]
device = "board"
write = 10
drops_after = "10 s"
"""


class OnALine:
    """A board in a process of its own, its line on a pseudo-terminal: the host's build or the chip's."""

    def __init__(self, command: list[str]) -> None:
        self._process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        assert self._process.stdout is not None
        self.path = next(line for line in self._process.stdout if line.startswith("/dev/")).strip()
        self.seen: list[tuple[float, str]] = []
        self.lit, self.air_c, self.peak_c = False, 20.0, 20.0  # of the emulated chip, each second
        self.emulated_s = 0.0
        threading.Thread(target=self._watch, daemon=True).start()

    def _watch(self) -> None:
        for line in self._process.stdout or ():
            at_s, _, pins = line.strip().partition(" ")
            if pins.startswith("lamp"):
                _, lit, _, air_c = pins.split()
                self.lit, self.air_c, self.emulated_s = lit == "1", float(air_c), float(at_s)
                self.peak_c = max(self.peak_c, self.air_c)
                continue
            self.seen.append((float(at_s), pins))

    def tell(self, word: str) -> None:
        """Let something happen to the emulated chip."""
        assert self._process.stdin is not None
        self._process.stdin.write(f"{word}\n")
        self._process.stdin.flush()

    def off_after_s(self, since: str) -> float:
        """Wait until both pins are low; return the emulated seconds from the last line that says `since`."""
        give_up_s = time.monotonic() + 60.0
        while "1" in self.seen[-1][1] or self.seen[-1][1] == "told":
            assert time.monotonic() < give_up_s, "the heat never went off"
            time.sleep(0.05)
        return self.seen[-1][0] - max(at_s for at_s, said in self.seen if said == since)

    def close(self) -> None:
        self._process.kill()
        self._process.wait()
        for end in (self._process.stdin, self._process.stdout):
            if end is not None:
                end.close()


def on_the_host(wrong: str = "") -> OnALine:
    made = built("board", "-DON_A_LINE", *core_of(wrong), str(FIRMWARE / "host_layer.c"))
    return OnALine([str(made)])


def on_the_emulated_chip(wrong: str = "") -> OnALine:
    emulator = built("emulator", "-std=gnu11", "tests/firmware/emulator.c", "-lsimavr", "-lelf")
    program = emulator.with_name(f"board{wrong}.elf")
    chip = ("avr-gcc", "-mmcu=atmega328p", "-DF_CPU=16000000UL", *STRICT, "-Os")
    subprocess.run([*chip, *core_of(wrong), FIRMWARE / "avr_layer.c", "-o", program], check=True)
    return OnALine([str(emulator), str(program)])


def oven_text_for(path: str, baud: int = 115200, write_s: int = 10) -> str:
    text = OVEN.replace("/dev/fake", path).replace("115200", str(baud))
    return text.replace("write = 10", f"write = {write_s}").replace('"10 s"', f'"{write_s} s"')
