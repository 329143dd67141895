"""Off for all: it needs nobody to tell, and takes every oven."""

from kilnctl.config.oven import Oven
from kilnctl.devices import emergency_off as module
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.emergency_off import off_all


def test_off_for_all_needs_nobody_to_tell(bench, monkeypatch):
    monkeypatch.setattr(module, "Buses", lambda clock, exclusive: Buses(clock, exclusive, opener=bench._open))
    bench.plugged = False
    assert off_all([bench.oven], bench.clock) == {"bench": False}
    bench.plugged = True
    said: list[str] = []
    assert off_all([bench.oven], bench.clock, tell=said.append) == {"bench": True}
    assert said == []


def test_off_for_all_opens_exclusively_unless_told_to_share(bench, monkeypatch):
    asked: list[bool] = []

    def buses(clock, exclusive):
        asked.append(exclusive)
        return Buses(clock, exclusive, opener=bench._open)

    monkeypatch.setattr(module, "Buses", buses)
    off_all([bench.oven], bench.clock)
    off_all([bench.oven], bench.clock, share=True)
    assert asked == [True, False]


def test_off_for_all_takes_every_oven(bench, monkeypatch):
    monkeypatch.setattr(module, "Buses", lambda clock, exclusive: Buses(clock, exclusive, opener=bench._open))

    def named(name: str) -> Oven:
        return bench.oven.model_copy(update={"name": name})

    assert off_all([named("a"), named("b")], bench.clock) == {"a": True, "b": True}
