"""Heat off without a controller."""

import threading

from kilnctl.clock import RealClock
from kilnctl.config.oven import Oven
from kilnctl.devices import emergency_off as module
from kilnctl.devices.bus_registry import Buses
from kilnctl.devices.emergency_off import off_all
from kilnctl.errors import ConfigError, PortLost


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


def test_one_oven_that_cannot_be_wired_up_does_not_keep_the_other_hot(bench, monkeypatch):
    wired_to(bench, monkeypatch)
    bench.board.coils[1] = {0: 1, 1: 1}
    wire = module.HeatCutter

    def oven_io(oven, *more):
        if oven.name == "left":
            raise ConfigError("left: its file was edited in mid-heat")
        return wire(oven, *more)

    monkeypatch.setattr(module, "HeatCutter", oven_io)
    said = []
    ovens = [other(bench.oven, "left"), bench.oven]
    assert off_all(ovens, bench.clock, tell=said.append) == {"left": False, "bench": True}
    assert said == ["left: left: its file was edited in mid-heat"]
    assert (bench.heater, bench.contactor) == (0, 0)


def test_a_port_stuck_in_the_kernel_does_not_keep_off_from_coming_back(bench, monkeypatch):
    """Its lock is held for ever then, so it must not be waited for when the ports are given back."""
    stuck, freed = threading.Event(), threading.Event()

    def hangs(port, exclusive):
        stuck.set()
        freed.wait(20.0)
        raise PortLost("at last")

    monkeypatch.setattr(module, "LONGEST_S", 0.05)
    monkeypatch.setattr(module, "Buses", lambda clock, exclusive: Buses(clock, exclusive, hangs))
    said: list[str] = []
    came = threading.Thread(
        target=off_all, args=([bench.oven], RealClock()), kwargs={"tell": said.append}, daemon=True
    )
    came.start()
    came.join(5.0)
    ended = not came.is_alive()
    freed.set()
    assert stuck.is_set()
    assert ended
    assert said[:1] == ["bench: its port is stuck, nothing has come back for 0.05 s"]


def test_what_went_wrong_is_told_before_a_port_that_may_not_be_given_back(bench, monkeypatch):
    """A close may hang in the kernel after the cable was pulled: whoever waits must know why by then."""
    freed, said = threading.Event(), []

    class Stuck(Buses):
        def give_back(self, oven):
            freed.wait(20.0)

    def unplugged(port, exclusive):
        raise PortLost("pulled")

    monkeypatch.setattr(module, "LONGEST_S", 0.2)
    monkeypatch.setattr(module, "Buses", lambda clock, exclusive: Stuck(clock, exclusive, unplugged))
    assert off_all([bench.oven], RealClock(), tell=said.append) == {"bench": False}
    freed.set()
    assert said[0] == "bench: pulled"


def test_a_board_that_is_waited_for_longer_gives_its_port_back_later(bench, monkeypatch):
    """One whose start is awaited (a banner) outlasts the wait; the next try must find the port free."""
    wired_to(bench, monkeypatch)
    freed, threads = threading.Event(), threading.enumerate()

    class Slow(module.HeatCutter):
        def off(self):
            done = super().off()
            freed.wait(20.0)
            return done

    monkeypatch.setattr(module, "LONGEST_S", 0.05)
    monkeypatch.setattr(module, "HeatCutter", Slow)
    off_all([bench.oven], RealClock())
    assert bench.line.is_open
    freed.set()
    for thread in set(threading.enumerate()) - set(threads):
        thread.join(5.0)
    assert not bench.line.is_open


def test_a_slow_board_is_waited_for_as_long_as_each_off_comes_back(bench, monkeypatch):
    """One that takes 0.2 s for every answer needs a second for an off, and off must be read three times."""
    wired_to(bench, monkeypatch)
    bench.board.coils[1] = {0: 1, 1: 1}
    pauses = threading.Event()

    class Slow(module.HeatCutter):
        def off(self):
            pauses.wait(0.2)
            return super().off()

    monkeypatch.setattr(module, "LONGEST_S", 0.4)
    monkeypatch.setattr(module, "HeatCutter", Slow)
    said: list[str] = []
    assert off_all([bench.oven], RealClock(), tell=said.append, reads=3) == {"bench": True}
    assert not said
