"""Two files of one place whose offs are each other's on; real bytes: tests/faults/test_shared_line.py."""

import pytest

from kilnctl.config.oven import Oven
from kilnctl.errors import ConfigError
from kilnctl.processes.contrary import contrary
from kilnctl.tomlfile import loads
from tests.faults.planted.bench import OVEN

HEATER = '[output.heater]\ndevice = "relays"\ntable = "coil"\nregister = 0\n'
CONTACTOR = '[output.contactor]\ndevice = "relays"\ntable = "coil"\nregister = 1\n'
TURNED = "on = 0\noff = 1\n"


def oven(text: str) -> Oven:
    return loads(text.replace("PATH", "/dev/ttyUSB0"), Oven, ConfigError, "oven file")


@pytest.mark.parametrize(
    ("was", "now", "is_contrary"),
    [
        ("bench-oven", "other-name", False),
        (HEATER, HEATER + TURNED, True),
        (CONTACTOR, CONTACTOR + TURNED, True),
        (HEATER, HEATER.replace("register = 0", "register = 3") + TURNED, False),  # at another place
        (HEATER + CONTACTOR, HEATER.replace("= 0", "= 1") + TURNED, True),  # the contactor's place
    ],
)
def test_an_off_that_is_no_off_for_the_other(was: str, now: str, is_contrary: bool) -> None:
    assert was in OVEN
    one, other = oven(OVEN), oven(OVEN.replace(was, now))
    assert contrary(one, other) is contrary(other, one) is is_contrary
