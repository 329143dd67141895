"""The dead-man is fed by whole healthy ticks only: every short sequence of bad ticks, on the real runner.

The protocol has no pure function for this promise: the runner decides it in the middle of its tick. So the
runner itself is driven, in virtual time, and a log of what it asks of the I/O is the judge.
"""

import contextlib
import inspect
import itertools
import textwrap
from dataclasses import replace
from typing import Any

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.errors import ProfileError
from kilnctl.heat import runner as runner_module
from kilnctl.heat.job import Job
from kilnctl.heat.runner import Runner
from kilnctl.profile.segments import Profile
from kilnctl.readings import Quality
from kilnctl.rehearsal.dry_run import rehearse
from kilnctl.tomlfile import loads

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
WARM = 'name = "warm (invented)"\n\n[[segment]]\nkind = "ramp"\nto = "200 C"\n'
TICKS = ("sound", "no reading", "not driven", "not fed", "scan raises", "drive raises", "feed raises")
FROM_TICK, LAST_TICK = 8, 16


class Broken(Exception):
    """Something in a tick broke, on purpose."""


class PlayedIO:
    """The I/O of a rehearsal, which goes wrong as a script says; `log` is what was asked of it."""

    def __init__(self, real: Any, script: tuple[str, ...]) -> None:
        self._real, self._script = real, script
        self._tick, self.log = 0, []  # type: ignore[var-annotated]

    def __getattr__(self, name: str) -> Any:
        return getattr(self._real, name)

    def _goes_wrong(self, how: str) -> bool:
        at = self._tick - FROM_TICK
        return 0 <= at < len(self._script) and self._script[at] == how

    def scan(self, at_s: float) -> Any:
        self._tick += 1
        if self._goes_wrong("scan raises"):
            self.log.append(("scan", self._tick, False))
            raise Broken
        scan = self._real.scan(at_s)
        if self._goes_wrong("no reading"):
            unread = replace(scan.process, value=None, quality=Quality.NO_REPLY)
            scan = replace(scan, process=unread)
        self.log.append(("scan", self._tick, scan.process.good))
        return scan

    def drive(self, request: Any) -> bool:
        wrong = self._goes_wrong("not driven") or self._goes_wrong("drive raises")
        self.log.append(("heat" if request.on else "no heat", self._tick, not wrong))
        if self._goes_wrong("drive raises"):
            raise Broken
        return False if wrong else self._real.drive(request)

    def feed(self) -> bool:
        wrong = self._goes_wrong("not fed") or self._goes_wrong("feed raises")
        self.log.append(("feed", self._tick, not wrong))
        if self._goes_wrong("feed raises"):
            raise Broken
        return False if wrong else self._real.feed()


def wrong_in(log: list[tuple[str, int, bool]]) -> str:
    """Judge a log: a feed needs a good look and a drive that held in the same tick, heat a feed before."""
    fed = -1
    for at, (what, tick, good) in enumerate(log):
        same = [(w, g) for w, t, g in log[:at] if t == tick]
        if what == "feed" and (
            ("scan", True) not in same or same[-1] not in (("heat", True), ("no heat", True))
        ):
            return f"tick {tick} fed the dead-man and was not whole: {same}"
        if what == "heat" and fed != tick - 1:
            return f"tick {tick} heats, and the tick before it fed nothing"
        if what == "feed" and good:
            fed = tick
    return ""


def played(script: tuple[str, ...]) -> str:
    """Run a heat whose ticks go wrong as the script says; return what the judge found."""

    def leave(runner: Runner) -> None:
        if oven_io._tick >= LAST_TICK:
            runner.off("the test is over")

    heat = rehearse(OVEN, Job(loads(WARM, Profile, ProfileError, "test")), on_tick=leave)
    oven_io = PlayedIO(heat.station.oven_io, script)
    object.__setattr__(heat.station, "oven_io", oven_io)
    with contextlib.suppress(Broken):
        heat.run()
    if not any(what == "heat" for what, _, _ in oven_io.log):
        return "nothing was heated: the test sees nothing"
    if heat.board.heater or heat.board.contactor:
        return "the heat is on after the end"
    return wrong_in(oven_io.log)


@pytest.mark.slow
def test_every_pair_of_ticks() -> None:
    found = {script: played(script) for script in itertools.product(TICKS, repeat=2)}
    print(f"\n{len(found)} sequences of {LAST_TICK} ticks")
    assert {script: wrong for script, wrong in found.items() if wrong} == {}


@pytest.mark.on_demand
def test_every_four_ticks() -> None:
    found = {script: played(script) for script in itertools.product(TICKS, repeat=4)}
    print(f"\n{len(found)} sequences of {LAST_TICK} ticks")
    assert {script: wrong for script, wrong in found.items() if wrong} == {}


GUARDED = "fed = station.oven_io.drive(request) and healthy and station.oven_io.feed()"


def test_a_runner_that_feeds_whatever_happens_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    source = textwrap.dedent(inspect.getsource(Runner._act))
    careless = source.replace(
        GUARDED, "fed = station.oven_io.drive(request) is not None and station.oven_io.feed()"
    )
    assert careless != source
    made: dict[str, Any] = {}
    exec(careless, vars(runner_module), made)
    monkeypatch.setattr(Runner, "_act", made["_act"])
    assert "was not whole" in played(("not driven",))
    assert "was not whole" in played(("no reading",))
