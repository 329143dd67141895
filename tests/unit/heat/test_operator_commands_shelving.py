"""An alarm put aside in a running heat: shown, recorded, back by itself, and never instead of a trip."""

from typing import Any

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.errors import ProfileError
from kilnctl.heat.job import Job
from kilnctl.heat.runner import Runner
from kilnctl.heat.telling.snapshot_builder import alarm_views
from kilnctl.interlocks.alarms import AlarmList
from kilnctl.link.snapshot import Command
from kilnctl.logbook.readers import Reader
from kilnctl.profile.segments import Profile
from kilnctl.readings import Alarm, Priority
from kilnctl.rehearsal.dry_run import parse_faults, rehearse
from kilnctl.tomlfile import loads

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
HOLD = 'name = "p"\n[[segment]]\nkind = "soak"\nat = "60 C"\ntime = "12min"\nband = "60 K"\n'
LOW = Alarm("supply", "supply low", 0.0, Priority.LATER)


def heat(on_tick: Any, *faults: str) -> Any:
    job = Job(loads(HOLD, Profile, ProfileError, "p"))
    return rehearse(OVEN, job, faults=parse_faults(list(faults)), on_tick=on_tick)


def shelve(runner: Runner, **args: Any) -> Any:
    return runner.command(Command("shelve", args=args, who="bench"))


def test_a_shelved_alarm_is_shown_recorded_and_comes_back() -> None:
    seen: dict[int, list[str]] = {}

    def on_tick(runner: Runner) -> None:
        second = round(runner.now.elapsed_s)
        if second == 10:
            runner.now = runner.now._replace(alarms=AlarmList().see((LOW,), runner.now.elapsed_s))
        if second == 20:
            assert shelve(runner, kind="supply", for_s=120.0, why="meter reads low").accepted
        seen[second] = [f"{v.state}: {v.reason}" for v in alarm_views(runner.now)]

    rehearsal = heat(on_tick)
    rehearsal.run()
    assert seen[15] == ["not acknowledged: supply low"]
    assert seen[21] == ["shelved: supply low (shelved, back in 2 min)"]
    assert seen[145] == ["gone, not acknowledged: supply low"]
    events = Reader(rehearsal.book.connection).events(rehearsal.run_id)
    told = [(e.kind, e.text) for e in events]
    assert ("shelve", "bench") in told
    assert ("alarm back", "supply low") in told


def test_a_trip_cannot_be_shelved() -> None:
    answers: list[str] = []

    def on_tick(runner: Runner) -> None:
        if runner.now.trip is not None and not answers:
            answers.append(shelve(runner, kind=runner.now.trip.kind, for_s=60.0).why)

    outcome = heat(on_tick, "smoke@60", "sensor-open@100").run()
    assert outcome.outcome == "tripped"
    assert "a trip cannot be shelved" in answers[0]


@pytest.mark.parametrize(
    ("kind", "for_s", "why"), [("x", 60, "no alarm"), ("supply", 9999, "60 min at most")]
)
def test_what_cannot_be_shelved_is_refused_with_its_reason(kind: str, for_s: float, why: str) -> None:
    answers: list[str] = []

    def on_tick(runner: Runner) -> None:
        if not answers:
            runner.now = runner.now._replace(alarms=AlarmList().see((LOW,), runner.now.elapsed_s))
            answers.append(shelve(runner, kind=kind, for_s=for_s).why)

    heat(on_tick).run()
    assert why in answers[0]
