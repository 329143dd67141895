"""A controller that switches the heat on and then does what its first argument says, for tests of the watch.

It holds the port exclusively, as the real one does, and writes the time of its last beat to the home.
"""

import argparse
import os
import signal
import sys
import time
from pathlib import Path

import serial

from kilnctl.marks import running_ovens
from kilnctl.processes.heartbeat import Beat
from kilnctl.processes.off_line import OffLine, home_name

sys.path.insert(0, str(Path(__file__).parent))
from relay_board import crc

HOME = Path(os.environ["KILNCTL_HOME"])
ON, OFF = bytes.fromhex("01050000FF00"), bytes.fromhex("010500000000")


def send(port: serial.Serial, frame: bytes) -> None:
    port.write(frame + crc(frame))
    port.read(8)


def leave(port: serial.Serial) -> None:
    send(port, OFF)
    running_ovens.clear("tempering-oven")
    sys.exit(0)


def beat_only(mouth: Beat) -> None:
    (HOME / "cold").touch()
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    while not mouth.alone:
        mouth.send()
        time.sleep(0.1)
    sys.exit(0)


def beat(mouth: Beat, port: serial.Serial, beats: int) -> None:
    for _ in range(beats):
        mouth.send()
        (HOME / "beat").write_text(str(time.monotonic()))
        time.sleep(0.1)
        if mouth.alone:
            leave(port)


def deaf_and_alone(port: serial.Serial, mouth: Beat) -> None:
    """Hear neither a stop nor an off nor that nobody watches any more."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    signal.signal(signal.SIGHUP, signal.SIG_IGN)
    OffLine([home_name(HOME)], lambda _: time.sleep(600) or ())
    send(port, ON)
    while True:
        mouth.send()
        time.sleep(0.1)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("how")
    parser.add_argument("--beat-fd", type=int)
    args = parser.parse_args()
    if args.how == "cold":  # beats and never heats, never goes near the port
        beat_only(Beat(args.beat_fd))
    text = (HOME / "oven.toml").read_text()
    running_ovens.mark("tempering-oven", text)
    port = serial.Serial((HOME / "port").read_text(), 115200, timeout=0.5, exclusive=True)
    mouth = Beat(args.beat_fd)
    (HOME / "pid").write_text(str(os.getpid()))
    if args.how == "deaf and alone":
        deaf_and_alone(port, mouth)
    if args.how == "obeys":
        signal.signal(signal.SIGTERM, lambda *_: leave(port))
    if args.how == "deaf":
        signal.signal(signal.SIGTERM, signal.SIG_IGN)
    beat(mouth, port, 1)
    send(port, ON)
    beat(mouth, port, 3)
    match args.how:
        case "hangs":
            time.sleep(60)
        case "stops":
            os.kill(os.getpid(), signal.SIGSTOP)
        case "raises":
            raise RuntimeError("invented for the test")
        case "dies":
            os.kill(os.getpid(), signal.SIGKILL)
        case "forgets":
            sys.exit(0)
    beat(mouth, port, 600)


main()
