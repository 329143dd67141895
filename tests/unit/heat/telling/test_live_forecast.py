"""The rest of a heat, foreseen from where it stands: against what the simulated oven then does."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.forecast.band import predict
from kilnctl.heat.job import Job, Outcome
from kilnctl.heat.runner import Runner
from kilnctl.heat.telling.live_forecast import LiveForecast
from kilnctl.heat.telling.snapshot_builder import snapshot
from kilnctl.heat.telling.time_left import NO_FORECAST
from kilnctl.link.snapshot import Command, Snapshot
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import PARAMETERS, OvenModel
from kilnctl.profile.cursor import Cursor
from kilnctl.profile.segments import Profile
from kilnctl.rehearsal.dry_run import parse_faults, rehearse
from simulator.oven import ovens

pytestmark = pytest.mark.begins_first
OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
MODEL = nameplate(OVEN)
TEMPER = Profile.model_validate(
    {
        "name": "temper (invented)",
        "segment": (
            {"kind": "ramp", "to": "218 C"},
            {"kind": "soak", "at": "218 C", "time": "10 min"},
            {"kind": "cool", "to": "200 C"},
        ),
    }
)
# A hold that a cold oven is in the band of at once.
HOLD = Profile.model_validate(
    {
        "name": "hold (invented)",
        "segment": (
            {"kind": "ramp", "to": "20 C"},
            {"kind": "soak", "at": "22 C", "time": "10 min"},
            {"kind": "soak", "at": "22 C", "time": "2 min"},
        ),
    }
)
LOOK_S = 60.0
Act = Callable[[Runner], None]


def planned(profile: Profile, model: OvenModel) -> tuple[float, ...]:
    """Return how long each segment takes by the plan: from a cold oven that is as its model says."""
    ends = {end.segment: end.at_s for end in predict(profile, model, 20.0, 20.0).ends}
    return tuple(ends[i] - ends.get(i - 1, 0.0) for i in range(len(profile.segments)))


@dataclass
class Heat:
    """A rehearsed heat that looks ahead: a picture a minute, and when each segment really was over."""

    seen: list[Snapshot]
    outcome: Outcome

    @property
    def ended_s(self) -> list[float]:
        return [segment["ended_s"] for segment in self.outcome.summary["segments"]]


def heat(
    job: Job, *faults: str, model: OvenModel = MODEL, act: Act = lambda r: None, oven: Oven = OVEN
) -> Heat:
    seen: list[Snapshot] = []

    def on_tick(runner: Runner) -> None:
        act(runner)
        if runner.now.elapsed_s >= LOOK_S * len(seen):
            forecast = NO_FORECAST if runner.live_forecast is None else runner.live_forecast.forecast
            seen.append(snapshot(runner.heat, runner.now, len(seen), forecast))
        if runner.live_forecast is not None and runner.now.state == "running":
            runner.say_of_oven(runner.live_forecast.work(runner.heat, runner.now))

    heat = rehearse(oven, job, faults=parse_faults(faults), on_tick=on_tick, foreseen=True)
    heat.runner.live_forecast = LiveForecast(oven, job, model)
    return Heat(seen, heat.run())


@pytest.fixture(scope="module")
def late() -> Heat:
    """A heat on an oven of which the nameplate promises too much, on low supply: three times as slow."""
    return heat(Job(TEMPER, planned_s=planned(TEMPER, MODEL)), "supply-factor@0s:0.8")


def test_a_late_heat_arrives_when_it_is_foreseen_not_when_it_was_planned(late: Heat) -> None:
    """After eight minutes, five for the first dose, it is known better than by the plan, which is far off.

    An oven that nobody has learned creeps, and nobody foresees in which steps: two fifths later at most.
    """
    arrived_s = late.ended_s[0]
    assert sum(planned(TEMPER, MODEL)[:1]) < 0.5 * arrived_s
    for s in late.seen[8:]:
        if s.segment == 0:
            left_s = arrived_s - s.elapsed_s
            assert s.segment_left_s == pytest.approx(left_s, rel=0.45, abs=200.0)
            assert s.segments[0].predicted_end_s == pytest.approx(s.elapsed_s + s.segment_left_s, abs=0.1)


def test_the_curve_ahead_begins_at_what_is_measured_now(late: Heat) -> None:
    for s in late.seen[2:-1]:
        at_s, low_c, middle_c, high_c = next(point for point in s.prediction if point[0] >= s.elapsed_s)
        assert at_s - s.elapsed_s <= 40.0
        assert middle_c == pytest.approx(s.process_c, abs=5.0)
        assert low_c <= middle_c <= high_c


def test_all_times_tell_one_story(late: Heat) -> None:
    """What is left in all, the clock time of the end and the end of the last segment are the same moment."""
    whole_s = late.ended_s[-1]
    for s in late.seen[5:]:
        if s.state == "running":
            assert s.total_left_s == pytest.approx(s.segments[-1].predicted_end_s - s.elapsed_s, abs=0.1)
            assert s.total_left_s == pytest.approx(whole_s - s.elapsed_s, rel=0.45, abs=180.0)
            ends_s = [seg.predicted_end_s for seg in s.segments]
            assert ends_s == sorted(ends_s)


def test_a_credited_soak_counts_down_by_its_credit_second_by_second(late: Heat) -> None:
    soaks = [s for s in late.seen if s.segment == 1 and s.soak_oven_s]
    assert len(soaks) > 5
    assert all(s.segment_left_s == pytest.approx(600.0 - (s.soak_oven_s or 0.0)) for s in soaks)


def test_without_a_look_ahead_a_late_ramp_says_that_nobody_knows() -> None:
    def forget(runner: Runner) -> None:
        runner.live_forecast = None
        if runner.now.cursor.segment:
            runner.off()

    seen = heat(Job(TEMPER, planned_s=planned(TEMPER, MODEL)), "supply-factor@0s:0.8", act=forget).seen
    early, late = seen[2], [s for s in seen if s.segment == 0][-1]
    assert early.segment_left_s == pytest.approx(planned(TEMPER, MODEL)[0] - 120.0, abs=2.0)
    assert late.segment_left_s is None
    assert late.total_left_s is None
    assert late.end_utc == ""


def test_a_goal_that_is_not_foreseen_to_be_reached_has_no_time() -> None:
    """The screen promised a soak in 1 h 14 min, and the end with it, above a curve that never got there."""
    furnace = load_oven(bundled("ovens") / "hardening-furnace.toml")
    ramp = {"kind": "ramp", "to": "1000 C", "rate": "400 C/h"}
    soak = {"kind": "soak", "at": "1000 C", "time": "20 min"}
    profile = Profile.model_validate({"name": "weak (invented)", "segment": (ramp, soak)})

    def leave(runner: Runner) -> None:
        if runner.now.elapsed_s >= 3600.0:
            runner.off()

    found = heat(Job(profile), "supply-factor@0s:0.7", model=nameplate(furnace), act=leave, oven=furnace)
    never = [s for s in found.seen if s.prediction and max(point[3] for point in s.prediction) < 990.0]
    assert len(never) > 20
    for s in never:
        assert (s.segment_left_s, s.total_left_s, s.end_utc) == (None, None, "")
        assert s.next_words == "soak at 1000 °C (1832 °F) for 20 min"


def test_an_oven_that_keeps_up_with_its_rate_is_taken_to_go_on_so() -> None:
    """Nobody has learned it, so its power is a guess; the rest of the ramp by its rate is arithmetic."""
    furnace = load_oven(bundled("ovens") / "hardening-furnace.toml")
    ramp = {"kind": "ramp", "to": "800 C", "rate": "400 C/h"}

    def leave(runner: Runner) -> None:
        if runner.now.elapsed_s >= 960.0:
            runner.off()

    profile = Profile.model_validate({"name": "x", "segment": (ramp,)})
    found = heat(Job(profile), model=nameplate(furnace), act=leave, oven=furnace)
    for s in found.seen[5:16]:
        assert s.setpoint_c is not None
        by_rate_s = (800.0 - s.setpoint_c) / 400.0 * 3600.0
        assert s.segment_left_s == pytest.approx(by_rate_s, rel=0.1)


def test_a_changed_goal_is_foreseen_anew() -> None:
    def lower(runner: Runner) -> None:
        if runner.now.elapsed_s == 300.0:
            runner.command(Command("adjust", None, {"what": "lower", "to_c": 150.0}))
        if runner.now.elapsed_s > 480.0:
            runner.off()

    found = heat(Job(TEMPER, planned_s=planned(TEMPER, MODEL)), act=lower)
    after = next(s for s in found.seen if s.elapsed_s >= 420.0)
    in_the_ramp = [c for at_s, _, c, _ in after.prediction if at_s <= after.segments[0].predicted_end_s]
    assert max(in_the_ramp) < 155.0
    assert max(c for _, _, c, _ in found.seen[3].prediction) > 210.0


def test_a_heat_taken_up_in_its_middle_is_foreseen_from_there() -> None:
    """It begins in the soak with half of it credited; what comes before is not gone through again."""
    start = Cursor(segment=1, soak_oven_s=300.0, soak_part_s=300.0)
    job = Job(HOLD, start=start, resumes=7, planned_s=(60.0, 600.0, 60.0))
    found = heat(job)
    assert found.seen[0].prediction == ()
    s = found.seen[3]
    assert s.prediction[0][0] >= 0.0
    assert s.total_left_s == pytest.approx(found.ended_s[-1] - s.elapsed_s, rel=0.3, abs=120.0)


def test_a_learned_oven_has_a_band_that_is_drawn_anew_too() -> None:
    n = len(PARAMETERS)
    spread = tuple(tuple(0.2**2 * (i == j) for j in range(n)) for i in range(n))
    learned = replace(MODEL, learned=True, covariance=spread)

    def leave(runner: Runner) -> None:
        if runner.now.elapsed_s > 8 * LOOK_S:
            runner.off()

    s = heat(Job(TEMPER), model=learned, act=leave).seen[8]
    assert any(high - low > 1.0 for _, low, _, high in s.prediction)
    assert s.prediction[0][0] > 300.0, "the middle is not the one from before the heat"


def test_a_fault_in_the_foresight_ends_the_foresight_not_the_heat() -> None:
    """A number that is none would also take every screen off the link."""

    def spoil(runner: Runner) -> None:
        if runner.now.elapsed_s == 60.0 and runner.live_forecast is not None:
            runner.live_forecast._models = (replace(MODEL, power=float("nan")),)
            runner.live_forecast._now = None

    found = heat(Job(HOLD, planned_s=(0.0, 600.0, 120.0)), act=spoil)
    assert found.outcome.outcome == "complete"
    assert found.seen[-2].prediction == ()
    assert "no longer predicted" in found.seen[-2].note
    assert found.seen[-2].total_left_s is not None, "what is left goes by the plan again"


def test_what_is_foreseen_of_a_warm_oven_begins_where_it_stands() -> None:
    """Its curve began at the room's 20 °C, 100 K below the reading beside it."""
    plant = ovens.tempering_oven()
    while plant.sensor.junction_c < 120.0:
        plant.step(1.0, 1.0)
    begins_c: list[float] = []

    def on_tick(runner: Runner) -> None:
        if runner.live_forecast is None:
            runner.live_forecast = LiveForecast(OVEN, runner.heat.job, MODEL)
        runner.live_forecast.work(runner.heat, runner.now)
        begins_c.extend(point[2] for point in runner.live_forecast.forecast.points[:1])

    rehearse(OVEN, Job(TEMPER), plant=plant, on_tick=on_tick).run()
    assert begins_c
    assert min(begins_c) > 100.0


def test_the_time_left_of_an_oven_that_falls_behind_its_rate_does_not_jump(monkeypatch) -> None:
    """58 s, 5 h 55 min, 95 s, 5 h 47 min: at its ceiling the set-point waits in every other tick."""
    monkeypatch.setitem(globals(), "LOOK_S", 1.0)
    ramp = {"kind": "ramp", "to": "150 C", "rate": "400 C/h"}
    soak = {"kind": "soak", "at": "150 C", "time": "5 min"}
    profile = Profile.model_validate({"name": "weak (invented)", "segment": (ramp, soak)})
    seen = heat(Job(profile, planned_s=planned(profile, MODEL)), "supply-factor@0s:0.6").seen
    told = [(s.segment_left_s, s.total_left_s) for s in seen if s.segment == 0 and s.elapsed_s > 700.0]
    assert len(told) > 100
    turns = sum(bool(before.creeps) is not bool(after.creeps) for before, after in pairwise(seen))
    assert turns <= 10  # a few pulses and looks; it was 32
    for before, after in pairwise(told):
        assert after == pytest.approx([one - 1.0 for one in before if one is not None], rel=0.3, abs=60.0)
