"""Whether a start may have its oven, by what this process is running; whole starts are in tests/faults."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import RunRefused
from kilnctl.marks import running_ovens
from kilnctl.processes.start_job import _connect, _free, _refused
from tests.unit.marks.test_oven_identity import oven_of


class Running:
    """An oven of this process that is heated, or only watched."""

    def __init__(self, oven: Oven, busy: bool, stuck: bool = False) -> None:
        self.stuck = stuck
        self.heat, self.busy, self.alive = SimpleNamespace(station=SimpleNamespace(oven=oven)), busy, True
        self.run_id = 7

    def join(self, real_s: float) -> bool:
        """Leave the watch, unless its thread hangs: at a slow board, or in a write to a slow card."""
        self.alive = self.stuck
        return not self.stuck


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


@pytest.mark.parametrize("name", ["left", "right"])
def test_no_heat_begins_beside_a_watch_that_has_not_left(name: str) -> None:
    """Its last off and its "heat is over" would fall into the new heat, whose mark it would take away."""
    running: Any = {"left": Running(oven_of("left", 0), busy=False, stuck=True)}
    with pytest.raises(RunRefused, match='"left" is still being left'):
        _free(oven_of(name, 1), running)


def heated_elsewhere(own_home: Path, torn: bool = False, port: str = "/dev/null") -> tuple[Oven, Any]:
    """Leave the mark of a heat at a port that the oven file names no more; return oven and board."""
    file = bundled("ovens") / "tempering-oven.toml"
    oven, text = load_oven(file), file.read_text(encoding="utf-8")
    running_ovens.mark(oven.name, text.replace("lines/tempering-oven", port))
    if torn:
        (own_home / "running" / f"{oven.name}.toml").write_text("# kilnctl running {", encoding="utf-8")
    assert running_ovens.of(oven.name) is not None
    board: Any = SimpleNamespace(connect=lambda: None, off=lambda: True, close=lambda: None)
    return oven, board


def test_a_recording_elsewhere_clears_no_mark_of_a_heat(own_home: Path) -> None:
    """The file was edited since the crash: what reads off here says nothing of what was heated there."""
    oven, board = heated_elsewhere(own_home)
    _connect(oven, board, SimpleNamespace(record_only=True))  # type: ignore[arg-type]
    assert running_ovens.of(oven.name) is not None


@pytest.mark.parametrize("torn", [False, True])
def test_a_start_that_is_refused_clears_only_a_mark_of_what_it_has_read_off(
    own_home: Path, torn: bool
) -> None:
    """A recording was refused for a torn mark, "the oven may be hot", and took that mark away."""
    oven, board = heated_elsewhere(own_home, torn)
    _refused(oven, board)
    assert running_ovens.of(oven.name) is not None


def test_a_port_that_came_back_under_another_name_is_the_same_oven(own_home: Path) -> None:
    """Else nothing could take the mark away: its port is gone for good."""
    oven, board = heated_elsewhere(own_home, port="/dev/ttyUSB77")
    _connect(oven, board, SimpleNamespace(record_only=True))  # type: ignore[arg-type]
    assert running_ovens.of(oven.name) is None
