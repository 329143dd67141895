"""No rehearsal heats a real oven, no simulator passes for one: file, port, device and scale must agree."""

import os
import pty
from collections.abc import Iterator
from typing import Any

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.config.wiring import DeviceIdentity
from kilnctl.devices.identity import check_identity, check_simulated, unlike
from kilnctl.errors import BadReply, DeviceBusy, DeviceError, DeviceRefused, NoReply, PortLost, RunRefused

SIMULATED = load_oven(bundled("ovens") / "tempering-oven.toml")
REAL = SIMULATED.model_copy(update={"simulated": False})
WIRE = "/dev/null"  # a character device that is no pseudo-terminal


class Device:
    """A device that answers what it is told to, to every question."""

    def __init__(self, answer: Any) -> None:
        self.answer = answer

    def simulated_speed(self) -> float | None:
        return self._told()

    def read(self, places: list[Any]) -> list[Any]:
        return [self.answer for _ in places]

    def _told(self) -> Any:
        if isinstance(self.answer, Exception):
            raise self.answer
        return self.answer


@pytest.fixture
def line() -> Iterator[str]:
    master, end = pty.openpty()
    yield os.ttyname(end)
    os.close(master)
    os.close(end)


def check(oven: Oven, path: str, answer: Any, scale: float) -> None:
    device: Any = Device(answer)
    check_simulated(oven, path, device, scale)


def test_a_simulated_oven_at_its_own_speed_and_a_real_one_on_a_wire_may_begin(line: str) -> None:
    check(SIMULATED, line, 20.0, 20.0)
    check(REAL, WIRE, None, 1.0)
    check(REAL, line, None, 1.0)  # a converter over the network looks like a pseudo-terminal


@pytest.mark.parametrize("silent", [None, NoReply("no reply"), DeviceRefused("no such register")])
def test_what_does_not_know_the_question_is_no_simulator(line: str, silent: Any) -> None:
    check(REAL, line, silent, 1.0)
    with pytest.raises(RunRefused, match=f"marked simulated, but no simulator answers on {line}"):
        check(SIMULATED, line, silent, 1.0)


@pytest.mark.parametrize(
    ("oven", "speed", "scale", "words"),
    [
        (SIMULATED, 20.0, 1.0, "the simulator runs at 20 ×, not at 1 ×"),
        (REAL, None, 20.0, "a time scale is only for ovens marked simulated"),
        (REAL, 1.0, 1.0, "a simulator answers, but the file is not marked"),
    ],
)
def test_what_does_not_agree_is_refused(
    line: str, oven: Oven, speed: float | None, scale: float, words: str
) -> None:
    with pytest.raises(RunRefused, match=words):
        check(oven, line, speed, scale)


def test_a_file_marked_simulated_never_heats_over_a_wire() -> None:
    with pytest.raises(RunRefused, match=f"{WIRE} is a real port; nothing was heated"):
        check(SIMULATED, WIRE, 1.0, 1.0)


def test_a_port_that_is_lost_meanwhile_is_no_answer(line: str) -> None:
    for oven in (SIMULATED, REAL):
        with pytest.raises(PortLost):
            check(oven, line, PortLost("unplugged"), 1.0)


NAME = DeviceIdentity(device="board", table="holding", register=9, expect=4711)


def asked(answer: float | DeviceError) -> None:
    device: Any = Device(answer)
    check_identity(NAME, device)


def test_the_constant_of_the_file_is_the_device() -> None:
    asked(4711)
    assert unlike(NAME, 4711) is None
    with pytest.raises(BadReply, match="holds 4712, not 4711: another device answers"):
        asked(4712)


def test_a_device_without_that_register_is_another_and_a_silent_one_is_silent() -> None:
    with pytest.raises(BadReply, match="which should hold 4711, is refused: another device answers"):
        asked(DeviceRefused("illegal address"))
    with pytest.raises(NoReply, match="no reply"):
        asked(NoReply("no reply"))


def test_a_device_that_is_busy_is_no_other_device() -> None:
    """MODBUS Application Protocol V1.1b3, 7: code 06 asks to send the request again later."""
    with pytest.raises(DeviceBusy, match="busy; wait until it has started, then try again") as raised:
        asked(DeviceBusy("board, reading holding 9: the device reports that it is busy"))
    assert "another device" not in str(raised.value)
