"""`simulator_with_truth.py FD OVEN LINK SPEED [FAULT...]`: the simulator, which also answers what is so.

Each byte on FD is answered with the board's truth as JSON. Ends when the other end is closed.
"""

import json
import socket
import sys
from dataclasses import asdict
from pathlib import Path

from kilnctl.cli.oven import simulate

wire = socket.socket(fileno=int(sys.argv[1]))
oven, link, speed, *faults = sys.argv[2:]
running = simulate.start(oven, link=Path(link), speed=float(speed), fault=faults)
while wire.recv(1):
    wire.sendall(json.dumps(asdict(running.board.truth())).encode())
running.close()
