"""Whether a start may have its oven, by what this process is running; whole starts are in tests/faults."""

from types import SimpleNamespace
from typing import Any

import pytest

from kilnctl.config.oven import Oven
from kilnctl.errors import RunRefused
from kilnctl.processes.start_job import _free
from tests.unit.marks.test_oven_identity import oven_of


class Running:
    """An oven of this process that is heated, or only watched."""

    def __init__(self, oven: Oven, busy: bool) -> None:
        self.heat, self.busy, self.alive = SimpleNamespace(station=SimpleNamespace(oven=oven)), busy, True
        self.run_id = 7

    def join(self, real_s: float) -> bool:
        """Leave the watch."""
        self.alive = False
        return True


def test_two_ovens_on_bits_of_one_register_are_not_heated_at_once() -> None:
    running: Any = {"left": Running(oven_of("left", 0), busy=True)}
    with pytest.raises(
        RunRefused, match='"right" and "left" switch heat in one place, and "left" is running'
    ):
        _free(oven_of("right", 1), running)
    assert running["left"].alive


def test_the_watch_over_the_other_oven_ends_before_the_heat_begins() -> None:
    running: Any = {"left": Running(oven_of("left", 0), busy=False)}
    _free(oven_of("right", 1), running)
    assert not running["left"].alive
