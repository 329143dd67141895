"""A board that refuses what keeps its heat on: the oven gets cold, and a person must hear of it."""

from pathlib import Path

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.errors import ProfileError
from kilnctl.heat.job import Job
from kilnctl.interlocks.alarms import AlarmState
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.dry_run import Rehearsal, rehearse
from kilnctl.tomlfile import loads

HOLD = """
name = "hold (invented)"
[[segment]]
kind = "soak"
at = "100 C"
time = "1h"
band = "8 K"
"""


@pytest.fixture
def heated(tmp_path: Path) -> Rehearsal:
    job = Job(loads(HOLD, Profile, ProfileError, "test.toml"))
    return rehearse(load_oven(bundled("ovens") / "tempering-oven.toml"), job, logbook=tmp_path / "book")


def _go_on(heated: Rehearsal, seconds: int) -> None:
    for _ in range(seconds):
        heated.clock.advance(1.0)
        heated.runner.tick(heated.clock.now_s())


def _told(heated: Rehearsal) -> list[str]:
    return [alarm.kind for alarm in heated.runner.now.alarms.history]


def test_a_dead_man_that_is_refused_for_minutes_is_told_once_and_the_heat_goes_on_after_it(
    heated: Rehearsal,
) -> None:
    oven_io = heated.station.oven_io
    feed = oven_io.feed
    _go_on(heated, 60)
    assert _told(heated) == []
    oven_io.feed = lambda: False  # type: ignore[method-assign]
    _go_on(heated, 300)
    assert _told(heated) == ["held_back"]
    assert (heated.runner.now.state, heated.board.heater) == ("running", False)
    oven_io.feed = feed  # type: ignore[method-assign]
    _go_on(heated, 300)
    assert [shown.state for shown in heated.runner.now.alarms.standing] == [AlarmState.GONE]
    assert heated.board.heater


def test_an_output_that_is_refused_ends_the_heat(heated: Rehearsal) -> None:
    """What is refused is heat: off was read back, and the output goes on reading off."""
    oven_io = heated.station.oven_io
    drive = oven_io.drive
    oven_io.drive = lambda request: not request.on and drive(request)  # type: ignore[method-assign]
    _go_on(heated, 60)
    assert heated.runner.now.trip is not None
    assert heated.runner.now.trip.kind == "output_disobeys"


def test_one_write_in_five_that_is_lost_is_no_refusal(heated: Rehearsal) -> None:
    oven_io, number = heated.station.oven_io, iter(range(10_000))
    feed = oven_io.feed
    oven_io.feed = lambda: next(number) % 5 != 0 and feed()  # type: ignore[method-assign]
    _go_on(heated, 300)
    assert _told(heated) == []


def test_what_a_device_refuses_is_told_within_seconds_as_what_it_is(heated: Rehearsal) -> None:
    """A mode that was refused every second was told after a minute and more, as a guess."""
    oven_io = heated.station.oven_io
    _go_on(heated, 60)
    oven_io.feed = lambda: False  # type: ignore[method-assign]
    oven_io.refused = "panel, writing 1 to holding 288: the device refuses: it cannot do that now"  # type: ignore[attr-defined]
    _go_on(heated, 6)
    (alarm,) = heated.runner.now.alarms.history
    assert alarm.kind == "held_back"
    assert "refused by the device" in alarm.reason
    assert "holding 288" in alarm.reason


def test_one_refusal_that_goes_by_is_not_told(heated: Rehearsal) -> None:
    oven_io = heated.station.oven_io
    _go_on(heated, 60)
    oven_io.refused = "panel: the device refuses: it cannot do that now"  # type: ignore[attr-defined]
    _go_on(heated, 1)
    oven_io.refused = ""  # type: ignore[attr-defined]
    _go_on(heated, 60)
    assert _told(heated) == []
