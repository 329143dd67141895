"""The runner on a simulated oven in virtual time: whatever happens, the heat is off at the end."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.errors import ProfileError, RecordError, RunRefused
from kilnctl.heat import adjust as adjusting
from kilnctl.heat.job import Job
from kilnctl.heat.runner import Runner
from kilnctl.link.snapshot import Command
from kilnctl.profile.cursor import Cursor
from kilnctl.profile.segments import Profile, goal_c
from kilnctl.rehearsal.dry_run import Rehearsal, parse_faults, rehearse
from kilnctl.tomlfile import loads

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
WARM = """
name = "warm (invented)"
[[segment]]
kind = "ramp"
to = "60 C"
rate = "300 C/h"
[[segment]]
kind = "soak"
at = "60 C"
time = "5min"
band = "8 K"
"""
WAIT = """
[[segment]]
kind = "operator"
step = "unload"
say = "take the part out"
hold = "60 C"
at_most = "10min"
"""


def profile(text: str = WARM) -> Profile:
    return loads(text, Profile, ProfileError, "test.toml")


def heat(text: str = WARM, *, faults: str = "", oven: Oven = OVEN, **more: Any) -> Rehearsal:
    texts = [f for f in faults.split() if f]
    job = more.pop("job", None) or Job(profile(text))
    return rehearse(oven, job, faults=parse_faults(texts), **more)


def cold(rehearsal: Rehearsal) -> bool:
    """True when relay and safety contactor of the simulator are open, whatever the program believes."""
    board = rehearsal.board
    dropped = not board.heater and not board.contactor
    board.step(1.0)
    return dropped and board.truth().heat_w == 0.0


def at_s(seconds: float, act: Callable[[Runner], Any]) -> Callable[[Runner], None]:
    done: list[bool] = []

    def on_tick(runner: Runner) -> None:
        if runner.now.elapsed_s >= seconds and not done:
            done.append(True)
            act(runner)

    return on_tick


def test_a_whole_heat_completes_and_leaves_the_oven_off() -> None:
    rehearsal = heat()
    outcome = rehearsal.run()
    assert (outcome.outcome, outcome.exit_code, outcome.heat_off) == ("complete", 0, True)
    assert cold(rehearsal)
    soak = outcome.summary["segments"][1]
    assert soak["soak_credited_s"] == pytest.approx(300.0, abs=2.0)
    assert rehearsal.book.verify(rehearsal.run_id).complete


def test_off_is_taken_at_once_and_ends_the_run() -> None:
    rehearsal = heat(on_tick=at_s(300.0, lambda r: r.off("by test")))
    outcome = rehearsal.run()
    assert (outcome.outcome, outcome.exit_code, outcome.cause) == ("stopped", 5, "by test")
    assert outcome.summary["duration_s"] <= 302.0
    assert cold(rehearsal)


class Boom(Exception):
    pass


def explode(*_: Any, **__: Any) -> Any:
    raise Boom("broken on purpose")


@pytest.mark.parametrize(
    "place",
    ["controller.step", "oven_io.scan", "oven_io.drive", "oven_io.feed", "part_advance", "dose_advance"],
)
def test_an_exception_anywhere_in_the_tick_cuts_the_heat_and_comes_out(
    place: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = WARM.replace('name = "warm (invented)"', 'name = "warm"\nsection = "6 mm"')
    rehearsal = heat(text.replace("[[segment]]", '[[segment]]\npurpose = "temper"'))
    owner: Any = rehearsal.station
    *path, name = place.split(".")
    for part in path:
        owner = getattr(owner, part)
    kind, original, calls = type(owner), getattr(type(owner), name), [0]

    def later(*args: Any, **more: Any) -> Any:
        calls[0] += 1
        return explode() if calls[0] > 600 else original(*args, **more)

    monkeypatch.setattr(kind, name, later)
    with pytest.raises(Boom):
        rehearsal.run()
    monkeypatch.undo()
    assert calls[0] > 600
    assert cold(rehearsal)


def test_an_exception_in_an_interlock_cuts_the_heat() -> None:
    rehearsal = heat()
    first, *others = rehearsal.station.checks

    def check(seen: Any) -> Any:
        return explode() if seen.at_s > 600 else first(seen)

    object.__setattr__(rehearsal.station, "checks", (check, *others))
    with pytest.raises(Boom):
        rehearsal.run()
    assert cold(rehearsal)


def test_a_screen_that_breaks_cuts_the_heat_too() -> None:
    rehearsal = heat(on_tick=at_s(600.0, explode))
    with pytest.raises(Boom):
        rehearsal.run()
    assert cold(rehearsal)


def test_an_unanswered_step_ends_with_heat_off_and_exit_7() -> None:
    rehearsal = heat(WARM + WAIT, answers=False)
    outcome = rehearsal.run()
    assert (outcome.outcome, outcome.exit_code) == ("ended_early", 7)
    assert "nobody confirmed" in outcome.cause
    waited = outcome.summary["segments"][2]
    assert waited["ended_s"] - waited["started_s"] == pytest.approx(600.0, abs=2.0)
    assert cold(rehearsal)


@pytest.mark.parametrize(("reply", "end"), [("done", "complete"), ("abort", "stopped")])
def test_an_answered_step(reply: str, end: str) -> None:
    def answer(runner: Runner) -> None:
        if runner.now.segment_kind == "operator":
            runner.command(Command("answer", args={"reply": reply}))

    assert heat(WARM + WAIT, answers=False, on_tick=answer).run().outcome == end


def test_record_only_never_heats() -> None:
    job = Job(profile(), record_only=True)
    rehearsal = heat(job=job, on_tick=at_s(1800.0, lambda r: r.off()))
    outcome = rehearsal.run()
    assert outcome.summary["energy_kwh"] == 0.0
    assert rehearsal.board.truth().energy_j == 0.0


def test_a_bad_reading_stops_soak_clock_and_heat() -> None:
    seen: list[tuple[float, float, bool]] = []

    def watch(runner: Runner) -> None:
        scan = runner.now.scan
        assert scan is not None
        if not scan.process.good:
            seen.append((runner.now.cursor.soak_oven_s, runner.now.duty, runner.now.request.on))

    outcome = heat(faults="sensor-open@500", on_tick=watch).run()
    assert outcome.exit_code == 4
    assert {duty for _, duty, _ in seen} == {0.0}
    assert not any(on for *_, on in seen)
    assert len({soak for soak, *_ in seen}) == 1


def test_a_trip_keeps_cutting_and_recording_then_ends() -> None:
    rehearsal = heat(faults="sensor-open@600")
    outcome = rehearsal.run()
    assert (outcome.outcome, outcome.exit_code) == ("tripped", 4)
    assert outcome.summary["duration_s"] == pytest.approx(611.0, abs=3.0)
    assert cold(rehearsal)


def test_the_open_door_holds_the_heat_off_and_the_heat_goes_on_after_it() -> None:
    states: list[tuple[str, bool]] = []

    def watch(runner: Runner) -> None:
        scan = runner.now.scan
        assert scan is not None
        if scan.door_open:
            states.append((runner.now.state, runner.now.request.on))

    outcome = heat(faults="door-open@700~20", on_tick=watch).run()
    assert outcome.outcome == "complete"
    assert len(states) >= 19
    assert set(states) == {("held", False)}


@pytest.mark.parametrize("segment", [0, 1], ids=["in the ramp", "in the soak"])
def test_what_is_held_after_a_lowered_goal_is_not_hotter(segment: int) -> None:
    """Up to the next ramp: whoever lowers a ramp does not want its soak, or the quench, at the old goal."""
    hold = {"kind": "operator", "step": "quench", "say": "now", "at_most": "5 min", "hold": "800 C"}
    profile = Profile.model_validate(
        {
            "name": "x",
            "segment": (
                {"kind": "ramp", "to": "800 C"},
                {"kind": "soak", "at": "800 C", "time": "10 min"},
                hold,
                hold | {"hold": "700 C"},
                {"kind": "ramp", "to": "850 C"},
                {"kind": "soak", "at": "850 C", "time": "5 min"},
            ),
        }
    )
    args = {"what": "lower", "to_c": 780.0}
    changed, cursor = adjusting.adjusted(profile, Cursor(segment), args)
    held = [goal_c(s) for s in changed.segments]
    assert held == [800.0 if segment else 780.0, 780.0, 780.0, 700.0, 850.0, 850.0]
    assert cursor == Cursor(segment)


def test_adjusting_goes_down_or_longer_never_up() -> None:
    answers: list[bool] = []

    def adjust(runner: Runner) -> None:
        for args in (
            {"what": "lower", "to_c": 61.0},
            {"what": "longer", "by_s": -5.0},
            {"what": "longer", "by_s": 60.0},
            {"what": "higher"},
        ):
            answers.append(runner.command(Command("adjust", args=args)).accepted)

    def in_soak(runner: Runner) -> None:
        if runner.now.segment_kind == "soak" and not answers:
            adjust(runner)

    outcome = heat(on_tick=in_soak).run()
    assert answers == [False, False, True, False]
    assert outcome.summary["segments"][1]["soak_credited_s"] == pytest.approx(360.0, abs=2.0)


def test_a_record_that_cannot_be_written_does_not_end_the_heat_and_is_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rehearsal = heat()

    def full(*_: Any) -> None:
        raise RecordError("the disk is full")

    monkeypatch.setattr(rehearsal.book, "append", full)
    outcome = rehearsal.run()
    assert (outcome.outcome, outcome.exit_code) == ("complete", 6)
    assert cold(rehearsal)


def test_a_profile_above_the_limit_is_refused_before_heat() -> None:
    with pytest.raises(RunRefused, match=r"segment 1: 300 °C \(572 °F\) is not below the limit"):
        heat(WARM.replace("60 C", "300 C"))


def test_no_heat_before_the_dead_man_has_been_fed() -> None:
    rehearsal = heat()
    rehearsal.board.has_dead_man = False  # this board would take any "on"
    rehearsal.station.oven_io.feed = lambda: False  # type: ignore[method-assign]
    runner = rehearsal.runner
    for second in range(120):
        rehearsal.clock.advance(1.0)
        runner.tick(float(second))
    assert rehearsal.board.truth().energy_j == 0.0


def test_the_same_seed_gives_the_same_heat(tmp_path: Path) -> None:
    first, second, other = heat(seed=3).run(), heat(seed=3).run(), heat(seed=4).run()
    assert first.summary == second.summary
    assert first.summary != other.summary


@pytest.mark.parametrize(("every_s", "within_s"), [(5, 35.0), (2, 15.0)])
def test_a_sensor_that_comes_and_goes_ends_the_heat_in_its_soak(every_s: int, within_s: float) -> None:
    """A loose terminal: open one second in five went through a whole soak, one in two for hours."""
    loose = " ".join(f"sensor-open@{second}s~1s" for second in range(700, 800, every_s))
    rehearsal = heat(WARM.replace("5min", "30min"), faults=loose)
    outcome = rehearsal.run()
    assert outcome.outcome == "tripped"
    assert "Sensor: comes and goes" in outcome.cause
    assert outcome.summary["duration_s"] < 700.0 + within_s + 12.0
    assert cold(rehearsal)


def test_one_spark_of_a_sensor_ends_nothing() -> None:
    outcome = heat(faults="sensor-open@700s~1s sensor-open@760s~1s").run()
    assert outcome.outcome == "complete"
