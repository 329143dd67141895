"""The look for an instrument's stand-by comes before an off, and must never stand in its way."""

from types import SimpleNamespace

import pytest

from kilnctl.devices.scanner import StandBy
from kilnctl.errors import NoReply


def heating() -> StandBy:
    stand_by = StandBy(SimpleNamespace(started_by_feeding=True, output=SimpleNamespace(heater=MODE)))
    stand_by.driven(True)
    return stand_by


MODE = SimpleNamespace(back=SimpleNamespace(bit=None, inverted=False))


@pytest.mark.parametrize("broken", [NoReply("silent"), RuntimeError("a fault of ours"), IndexError("short")])
def test_a_look_that_breaks_lets_the_off_be_sent(broken: Exception) -> None:
    def read(_place: object) -> float:
        raise broken

    stand_by = heating()
    stand_by.looked(read)
    assert not stand_by.fell


def test_no_look_where_nothing_heats() -> None:
    looks: list[object] = []
    stand_by = StandBy(SimpleNamespace(started_by_feeding=True, output=SimpleNamespace(heater=MODE)))
    stand_by.looked(lambda place: looks.append(place) or 0.0)
    assert looks == []
