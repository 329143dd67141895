"""Two relay boards with a temperature on pseudo-terminals, and the log of what their relays really did.

A process of its own, standard library only: `python board.py CONTROL_FD LOG BOARD_AS_JSON...`. Frames as in
the Modbus serial line guide and application protocol (functions 1 to 6, 15 and 16), built by hand. The log is
the judge: a line of JSON for every write, feed and change of a relay, in the machine's monotonic time.
"""

import contextlib
import json
import os
import random
import select
import socket
import struct
import sys
import time
import tty
from typing import Any, TextIO

HEATER, CONTACTOR, LAMP = 0, 1, 3
SIMULATED_PLANT = 0x5350
OPEN = 32767  # what the module shows without a sensor
ROOM_C, POWER_W = 20.0, 1200.0
ELEMENT_J_K, CHAMBER_J_K, SENSOR_S = 350.0, 2400.0, 12.0
TO_CHAMBER_W_K, TO_ROOM_W_K = 9.0, 3.4


def crc(data: bytes) -> bytes:
    """CRC-16 of the serial line guide: start FFFF, reflected polynomial A001, low byte first."""
    value = 0xFFFF
    for byte in data:
        value ^= byte
        for _ in range(8):
            value = value >> 1 ^ (0xA001 if value & 1 else 0)
    return struct.pack("<H", value)


def bits(values: list[bool]) -> bytes:
    """Pack bits, the first one lowest."""
    packed = bytearray((len(values) + 7) // 8)
    for i, on in enumerate(values):
        packed[i // 8] |= on << i % 8
    return bytes(packed)


class Plant:
    """Element, chamber and sensor; temperatures in degC, time of the heat in seconds."""

    def __init__(self, seed: int) -> None:
        self._dice = random.Random(seed)
        self.element_c = self.chamber_c = self.sensor_c = ROOM_C

    def step(self, heat: bool, seconds: float) -> None:
        """Let time pass."""
        flow_w = TO_CHAMBER_W_K * (self.element_c - self.chamber_c)
        loss_w = TO_ROOM_W_K * (self.chamber_c - ROOM_C)
        self.element_c += (POWER_W * heat - flow_w) / ELEMENT_J_K * seconds
        self.chamber_c += (flow_w - loss_w) / CHAMBER_J_K * seconds
        self.sensor_c += (self.chamber_c - self.sensor_c) / SENSOR_S * seconds

    def shown(self) -> int:
        """Return the sensor in tenths, with a little noise."""
        return round(10.0 * (self.sensor_c + self._dice.gauss(0.0, 0.06)))


class Board:
    """Coils that remember, a dead-man in holding register 0 that drops them, a plant behind them."""

    def __init__(
        self, log: TextIO, name: str, link: str, speed: float, simulated: bool, identity: int
    ) -> None:
        self.name, self.link, self.speed, self.simulated = name, link, speed, simulated
        self.identity, self._log = identity, log
        self.coils = [False] * 4
        self.door_open = self.stuck_dead_man = self.welded = self.sensor_open = self.lazy = False
        self.silent = self.bounces = False
        self.plant, self._dice = Plant(identity), random.Random(-identity)
        self.master = self.slave = -1
        self._held: list[int] = []
        self._came, self._came_s = b"", 0.0
        self._fed_until_s = 0.0
        self._stepped_s = time.monotonic()
        self.requests = 0
        self.plug()

    def say(self, event: str, **more: Any) -> None:
        """Write one line of the log."""
        print(json.dumps({"t": time.monotonic(), "board": self.name, "event": event, **more}), file=self._log)

    def plug(self) -> None:
        """Show up on a new pseudo-terminal behind the same name."""
        if self.master < 0:
            self.master, self.slave = os.openpty()
            tty.setraw(self.slave)
            os.set_blocking(self.master, False)
            with contextlib.suppress(FileNotFoundError):
                os.unlink(self.link)
            os.symlink(os.ttyname(self.slave), self.link)
            self.say("plugged")

    def unplug(self) -> None:
        """Leave the computer; coils and dead-man go on."""
        if self.master >= 0:
            os.unlink(self.link)
            self._held.append(self.slave)  # its number stays taken: no board of another history gets it
            os.close(self.master)
            self.master = self.slave = -1
            self.say("unplugged")

    def coil(self, number: int, on: bool, by: str) -> None:
        """Set a coil and log the change."""
        if self.coils[number] is not on:
            self.coils[number] = on
            armed = self._fed_until_s > 0.0
            self.say("relay", coil=number, on=on, by=by, armed=armed)

    def tick(self) -> None:
        """Let the plant and the dead-man go on."""
        now_s = time.monotonic()
        left_s, self._stepped_s = (now_s - self._stepped_s) * self.speed, now_s
        while left_s > 0.0:
            step_s = min(left_s, 1.0)
            self.plant.step(self.welded or (self.coils[HEATER] and self.coils[CONTACTOR]), step_s)
            left_s -= step_s
        if not self.lazy:
            self._drop_if_late(now_s)

    def _drop_if_late(self, now_s: float) -> None:
        if self._fed_until_s and now_s > self._fed_until_s and not self.stuck_dead_man:
            self._fed_until_s = 0.0
            self.coil(HEATER, False, "dead-man")
            self.coil(CONTACTOR, False, "dead-man")

    def serve(self) -> None:
        """Take in what has come and answer every whole request."""
        now_s = time.monotonic()
        with contextlib.suppress(OSError):
            data = os.read(self.master, 512)
            self._came = (self._came if now_s - self._came_s < 0.1 else b"") + data
            self._came_s = now_s
        while (frame := self._next()) is not None:
            if frame[0] == 1 and not self.silent:
                self.requests += 1
                self._drop_if_late(now_s)
                reply = bytes((1,)) + self._answer(frame[1], frame[2:-2])
                with contextlib.suppress(OSError):
                    os.write(self.master, reply + crc(reply))

    def _next(self) -> bytes | None:
        while len(self._came) >= 8:
            size = 9 + self._came[6] if self._came[1] in (15, 16) else 8
            frame = self._came[:size]
            if len(frame) == size and crc(frame[:-2]) == frame[-2:]:
                self._came = self._came[size:]
                return frame
            if len(frame) < size:
                return None
            self._came = self._came[1:]
        return None

    def _answer(self, function: int, body: bytes) -> bytes:
        first, value = struct.unpack(">HH", body[:4])
        match function:
            case 1 if first + value <= 4:
                return self._bits(function, self.coils[first : first + value])
            case 2 if first + value <= 2:
                live = self.coils[HEATER] and self.coils[CONTACTOR]
                door = self._dice.random() < 0.5 if self.bounces else self.door_open
                return self._bits(function, [door, live][first : first + value])
            case 3 | 4:
                found = [self._register(function, first + i) for i in range(value)]
                if all(one is not None for one in found):
                    return struct.pack(f">BB{value}h", function, 2 * value, *found)
            case 5 if first < 4:
                self._write(first, value == 0xFF00)
                return bytes((function,)) + body
            case 6 if first == 0:
                self._feed(value)
                return bytes((function,)) + body
            case 15 if first + value <= 4:
                for i in range(value):
                    self._write(first + i, bool(body[5 + i // 8] >> i % 8 & 1))
                return bytes((function,)) + body[:4]
            case 16 if first == 0 and value == 1:
                self._feed(int.from_bytes(body[5:7], "big"))
                return bytes((function,)) + body[:4]
        return bytes((function | 0x80, 2))

    @staticmethod
    def _bits(function: int, values: list[bool]) -> bytes:
        packed = bits(values)
        return bytes((function, len(packed))) + packed

    def _register(self, function: int, number: int) -> int | None:
        if function == 4:
            shown = OPEN if self.sensor_open else self.plant.shown()
            return shown if number == 0 else None
        left_s = max(0.0, self._fed_until_s - time.monotonic()) * self.speed
        known = {0: round(left_s), 100: self.identity}
        if self.simulated:
            known |= {9000: SIMULATED_PLANT, 9001: round(self.speed)}
        return known.get(number)

    def _write(self, coil: int, on: bool) -> None:
        self.say("write", coil=coil, on=on, request=self.requests)
        self.coil(coil, on, f"request {self.requests}")

    def _feed(self, seconds: int) -> None:
        self.say("feed", seconds=seconds, request=self.requests)
        self._fed_until_s = time.monotonic() + seconds / self.speed if seconds else 0.0

    def do(self, order: dict[str, Any]) -> dict[str, Any]:
        """Do what the hands of the history do, or tell how it stands."""
        match order["do"]:
            case "plug":
                self.plug()
            case "unplug":
                self.unplug()
            case "hand":  # somebody else writes to the board
                self.coil(order["coil"], order["on"], "hand")
            case "door":
                self.door_open = order["open"]
            case "sensor":
                self.sensor_open = order["open"]
            case "silent":  # powered, plugged in, and it answers nothing
                self.silent = order["on"]
            case "bounce":  # the switch of the door has no clean contact
                self.bounces = order["on"]
            case "weld":
                self.welded = True
                self.say("welded")
            case "lazy":  # its dead-man is looked at only when a request comes
                self.lazy = True
            case "stick":
                self.stuck_dead_man = order["stuck"]
                self.say("dead-man stuck", stuck=order["stuck"])
        hot, closed, lamp = self.coils[HEATER], self.coils[CONTACTOR], self.coils[LAMP]
        return {"hot": hot, "closed": closed, "lamp": lamp, "chamber_c": self.plant.chamber_c}


def main() -> None:
    """Serve until the control socket is closed."""
    control = socket.socket(fileno=int(sys.argv[1]))
    with open(sys.argv[2], "a", buffering=1, encoding="utf-8") as log:
        boards = {one["name"]: Board(log, **one) for one in map(json.loads, sys.argv[3:])}
        while True:
            ports = [board.master for board in boards.values() if board.master >= 0]
            ready = select.select([control, *ports], [], [], 0.01)[0]
            for board in boards.values():
                board.tick()
                if board.master in ready:
                    board.serve()
            if control in ready:
                asked = control.recv(65536)
                if not asked:
                    return
                order = json.loads(asked)
                control.sendall(json.dumps(boards[order["board"]].do(order)).encode())


if __name__ == "__main__":
    main()
