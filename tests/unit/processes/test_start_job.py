"""Whether a start may have its oven, by what this process is running; whole starts are in tests/faults."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import RunRefused
from kilnctl.marks import running_ovens
from kilnctl.processes.start_job import _connect, _free
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


@pytest.mark.parametrize("dead", [True, False])
def test_a_recording_clears_the_mark_of_an_earlier_heat_only_where_its_element_is_dead(
    own_home: Path, dead: bool
) -> None:
    """The relay reads off and its contact is welded: who only watches must not forget that heat."""
    file = bundled("ovens") / "tempering-oven.toml"
    oven, text = load_oven(file), file.read_text(encoding="utf-8")
    running_ovens.mark(oven.name, text)
    board: Any = SimpleNamespace(connect=lambda: None, off=lambda: dead)
    job: Any = SimpleNamespace(record_only=True)
    _connect(oven, board, job)
    assert (running_ovens.of(oven.name) is None) is dead
