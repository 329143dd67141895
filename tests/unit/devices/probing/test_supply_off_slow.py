"""A board that is silent is off, however long each look at it lasts."""

from types import SimpleNamespace

import pytest

from kilnctl.clock import VirtualClock
from kilnctl.devices.probing.supply_off import still_answer
from kilnctl.errors import DeviceError, NoReply

HEATER = SimpleNamespace(device="micro", back=None)
OVEN = SimpleNamespace(output=SimpleNamespace(heater=HEATER, contactor=None), simulated=False)


@pytest.mark.parametrize("look_s", [0.2, 4.0, 7.0])
@pytest.mark.parametrize("answers", [True, False])
def test_a_silent_board_is_off_and_one_that_answers_is_not(look_s: float, answers: bool) -> None:
    clock = VirtualClock()

    def read(_place: object) -> float | DeviceError:
        clock.pause(look_s)
        return 1.0 if answers else NoReply("silent")

    assert still_answer(OVEN, read, clock) == (["micro"] if answers else [])
