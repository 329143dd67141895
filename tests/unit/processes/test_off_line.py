"""The line that off comes in by."""

import contextlib
import json
import os
import random
import socket
import time
from typing import Any

import pytest

from kilnctl.clock import RealClock
from kilnctl.devices.bus_registry import Buses
from kilnctl.processes.off_line import OffLine, ask
from kilnctl.processes.off_order import OffOrders


def descriptors() -> int:
    return len(os.listdir("/proc/self/fd"))


@pytest.mark.real_bytes
def test_a_closed_line_gives_its_name_and_every_descriptor_back() -> None:
    before, name = descriptors(), f"kilnctl-test-{os.getpid()}"
    line = OffLine([name], lambda asked: [{"heard": asked}])
    answer = ask(name, {"off": 1}, 5.0)
    assert answer is not None
    assert answer[0] == {"heard": {"off": 1}}
    line.close()
    line.close()
    assert ask(name, {"off": 1}, 1.0) is None
    give_up_s = time.monotonic() + 20.0
    while descriptors() > before:
        assert time.monotonic() < give_up_s, "descriptors stay open"
        time.sleep(0.01)


class Oven:
    """An oven that is off; it keeps what it was told."""

    alive = True

    def __init__(self) -> None:
        self.told: list[str] = []

    def off(self, why: str) -> None:
        self.told.append(why)

    def wait_cut(self, real_s: float) -> bool:
        return True

    def look_s(self) -> float | None:
        return None

    def read_off(self) -> bool | None:
        return True

    def kept(self) -> contextlib.AbstractContextManager[None]:
        return contextlib.nullcontext()


def an_order(dice: random.Random) -> bytes:
    """Return one line that a broken or hostile program of the same user may send."""
    odd: list[Any] = [
        None,
        True,
        -1,
        1e300,
        "",
        "small",
        "\n\x1b[2J" * 2000,
        [],
        {},
        [["device-1-2", ""]],
        [[{}]],
        "x" * 90,
    ]
    line = json.dumps({dice.choice(("oven", "who", "at", "x")): dice.choice(odd) for _ in range(3)}).encode()
    match dice.randrange(5):
        case 0:
            return line[: dice.randrange(len(line))]
        case 1:
            return dice.randbytes(dice.randint(0, 300)).replace(b"\n", b"") + b"\n"
        case 2:
            return b"[" * 60_000 + b"\n"
    return line + b"\n"


@pytest.mark.real_bytes
def test_whatever_is_said_the_line_goes_on_answering_in_words_of_one_short_line() -> None:
    dice, name, oven = random.Random(1), f"kilnctl-test-odd-{os.getpid()}", Oven()
    orders = OffOrders({"small": oven}, Buses(RealClock()), RealClock())
    line = OffLine([name], orders.order)
    for _ in range(60):
        with socket.socket(socket.AF_UNIX) as caller, contextlib.suppress(OSError):
            caller.connect(f"\0{name}")
            caller.sendall(an_order(dice))
    answer = ask(name, {"oven": None, "who": "a person"}, 5.0)
    line.close()
    assert answer is not None
    assert answer[0] == {"ovens": {"small": {"reads_off": 3, "at": [], "isolator": ""}}}
    assert all(len(why) < 100 and why.isprintable() for why in oven.told), oven.told
    assert len(oven.told) > 5
