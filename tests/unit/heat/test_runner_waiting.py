"""A heat that waits to start: off and watched until its time; a door, off or a trip ends the wait."""

from datetime import datetime

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.heat.job import Job
from kilnctl.heat.telling.snapshot_builder import snapshot
from kilnctl.rehearsal.dry_run import parse_faults, rehearse
from kilnctl.treatment.planning import soak_job

pytestmark = pytest.mark.usefixtures("own_home")
OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
WAIT_S = 1800.0
HELD = soak_job(60.0, 300.0, OVEN)


def wait(**more):
    seen = []

    def look(runner):
        seen.append(
            (
                runner.now.elapsed_s,
                runner.now.request.on,
                runner.now.state,
                snapshot(runner.heat, runner.now, 1),
            )
        )
        act = more.get("act")
        if act is not None:
            act(runner)

    faults = parse_faults(more.get("faults", ()))
    job = Job(HELD, unattended=True, wait_s=WAIT_S, planned_s=(1200.0, 300.0))
    heat = rehearse(OVEN, job, faults=faults, on_tick=look)
    return heat, heat.run(), seen


def test_nothing_is_heated_before_the_hour_and_then_the_whole_heat_is():
    _, outcome, seen = wait()
    waiting = [s for s in seen if s[0] < WAIT_S]
    assert not any(asked for _, asked, _, _ in waiting)
    assert {state for _, _, state, _ in waiting} == {"held"}
    assert {shot.word for _, _, _, shot in waiting} == {"waiting to start"}
    assert outcome.outcome == "complete"
    first = outcome.summary["segments"][0]
    assert first["started_s"] == pytest.approx(WAIT_S, abs=1.5)
    assert outcome.summary["segments"][1]["soak_credited_s"] == 300.0


def test_the_screen_says_when_the_heat_begins_and_ends():
    _, _, seen = wait()
    shot = seen[600][3]
    begins = datetime.fromisoformat(shot.utc).timestamp() + WAIT_S - shot.elapsed_s
    assert datetime.fromtimestamp(begins).strftime("%H:%M") in shot.next_words
    assert shot.segments[0].predicted_end_s == pytest.approx(WAIT_S + 1200.0)
    assert shot.total_left_s == pytest.approx(WAIT_S - shot.elapsed_s + 1500.0)
    assert shot.segment_left_s == pytest.approx(WAIT_S - shot.elapsed_s + 1200.0), "a soak was once near"


@pytest.mark.parametrize(
    ("fault", "outcome"),
    [("door-open@600s~5s", "stopped"), ("sensor-open@600s", "tripped"), ("sensor-noise@600s:60", "tripped")],
)
def test_a_door_or_a_fault_ends_the_wait_for_good_with_the_heat_off(fault, outcome):
    heat, ended, seen = wait(faults=[fault])
    assert ended.outcome == outcome
    assert ended.heat_off
    assert not any(asked for _, asked, _, _ in seen)
    assert heat.runner.now.elapsed_s < WAIT_S


def test_off_ends_the_wait():
    _, ended, seen = wait(act=lambda runner: runner.now.elapsed_s > 60 and runner.off("off by a test"))
    assert ended.outcome == "stopped"
    assert len(seen) < 70
