"""Heat off without a controller."""

from kilnctl.config.oven import Oven
from kilnctl.devices import off_all as module
from kilnctl.devices.buses import Buses
from kilnctl.devices.off_all import off_all


def wired_to(bench, monkeypatch):
    """Let off_all open the bench's fake line instead of a real port."""
    monkeypatch.setattr(module, "Buses", lambda clock, exclusive: Buses(clock, exclusive, opener=bench._open))


def other(oven: Oven, name: str) -> Oven:
    return oven.model_copy(update={"name": name})


def test_off_is_sent_and_read_back(bench, monkeypatch):
    wired_to(bench, monkeypatch)
    bench.board.coils[1] = {0: 1, 1: 1}
    assert off_all([bench.oven], bench.clock) == {"bench": True}
    assert (bench.heater, bench.contactor) == (0, 0)
    assert not bench.line.is_open


def test_a_port_that_is_not_there_is_told(bench, monkeypatch):
    wired_to(bench, monkeypatch)
    bench.plugged = False
    said = []
    assert off_all([bench.oven], bench.clock, tell=said.append) == {"bench": False}
    assert said == ["bench: /dev/fake: there is no such port"]


def test_no_files_no_work(bench):
    assert off_all([], bench.clock) == {}
