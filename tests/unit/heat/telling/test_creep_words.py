"""A first heat that is not learned says what it does and how long its way may take, judged by how it went."""

import re

import pytest

from kilnctl.cli.watch.status import lines
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.heat.job import Job
from kilnctl.heat.telling.snapshot_builder import snapshot
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.dry_run import rehearse
from kilnctl.rehearsal.simulated_wiring import plant_of
from simulator.oven.plant import Plant

OVEN = load_oven(home.bundled("ovens") / "tempering-oven.toml")


def heated(goal_c: float) -> list:
    """Return a picture for each half minute of a heat of the bundled oven, not learned."""
    ramp = {"kind": "ramp", "to": f"{goal_c} C"}
    soak = {"kind": "soak", "at": f"{goal_c} C", "time": "5 min", "band": "50 K"}
    job = Job(Profile.model_validate({"name": "first", "segment": (ramp, soak)}))
    seen = []

    def look(runner) -> None:
        if runner.now.elapsed_s % 30.0 < OVEN.tick_s:
            seen.append(snapshot(runner.heat, runner.now, len(seen)))

    assert rehearse(OVEN, job, on_tick=look).run().outcome == "complete"
    return seen


def minutes(text: str) -> float:
    hours, mins, secs = (re.search(rf"(\d+) {unit}\b", text) for unit in ("h", "min", "s"))
    return sum(int(found[1]) * k for found, k in ((hours, 60.0), (mins, 1.0), (secs, 1 / 60)) if found)


@pytest.mark.parametrize("goal_c", [218.0, 27.0])
def test_the_rest_of_a_creep_lies_within_what_was_said(goal_c: float) -> None:
    """`status` said "8 min left" for half an hour, and at 27 °C nothing of why the heat was off."""
    seen = heated(goal_c)
    creeping = [s for s in seen if s.creeps]
    arrives_s = next(s.elapsed_s for s in seen if s.segment == 1)
    assert creeping[0].elapsed_s <= 30.0
    assert "nobody knows yet" in creeping[0].creeps
    assert any("with the heat off" in s.creeps for s in creeping)
    told = 0
    for s in creeping:
        assert s.waits_for == s.creeps  # so no screen shows a time that nobody knows
        span = re.search(r"; (.+) to (.+) more$", s.creeps)
        if span and s.segment == 0:
            told += 1
            left = (arrives_s - s.elapsed_s) / 60.0
            assert minutes(span[1]) - 1.0 <= left <= minutes(span[2]) + 1.0, (s.elapsed_s, s.creeps, left)
    assert told or goal_c < 30.0  # so near it is held after the first pulse
    assert any("the plan waits" in line for line in lines(creeping[0]))
    assert not any(" left" in line for line in lines(creeping[0]))


def test_what_is_held_is_timed_again() -> None:
    last = [s for s in heated(218.0) if s.segment == 1][-1]
    assert last.creeps == ""
    assert last.total_left_s is not None


@pytest.mark.parametrize(("began_c", "says"), [(59.9, True), (20.0, False)])
def test_an_oven_that_came_warm_and_loses_ground_says_so(began_c: float, says: bool) -> None:
    """It fell from 59.9 to 53.9 °C with its heat nearly off, and nothing on the screen said why."""
    plant = Plant(plant_of(OVEN).data, 20.0, began_c)
    soak = {"kind": "soak", "at": "60 C", "time": "20 min", "clock": "oven"}
    job = Job(Profile.model_validate({"name": "warm", "segment": (soak,)}))
    seen = []

    def look(runner) -> None:
        seen.append(snapshot(runner.heat, runner.now, len(seen)))

    assert rehearse(OVEN, job, plant=plant, on_tick=look).run().outcome == "complete"
    below = [s for s in seen if s.process_c is not None and 60.0 - s.process_c > 2.5 and s.state == "running"]
    slowly = [s for s in below if "came warm" in s.creeps]
    assert below
    assert (slowly == below) if says else not slowly
    assert all("came warm" not in s.creeps for s in seen if abs(60.0 - (s.process_c or 0.0)) < 1.5)
