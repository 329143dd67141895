"""A rehearsal tells what the simulated oven and part truly were, beside what was read.

The truth is the simulator's own (its plant and part), never what the program believes. Wrong couple: type K
read as type J, NIST ITS-90 tables: at a true 300 °C a K couple gives 12.209 mV, which J shows as 226 °C.
"""

import json
from pathlib import Path

import pytest

from kilnctl.cli.main import run
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.heat.job import Job
from kilnctl.heat.runner import Runner
from kilnctl.profile.segments import load_profile
from kilnctl.rehearsal.dry_run import rehearse
from kilnctl.rehearsal.heat_watch import Watch
from kilnctl.rehearsal.truth_told import (
    SegmentTruth,
    TruthWatch,
    bands_k,
    not_as_asked,
    segments_told,
    stood_apart,
)

PROFILE = """
name = "short temper"
oven = "tempering-oven"
steel = "O1"
section = "2 mm"
[[segment]]
kind = "ramp"
label = "heat"
purpose = "temper"
to = "205 C"
[[segment]]
kind = "soak"
label = "soak"
purpose = "temper"
clock = "part"
at = "205 C"
time = "5 min"
"""
UNTRUE = 7  # ended safely, but not as asked


@pytest.fixture
def job(own_home: Path) -> str:
    """A short temper, so that its rehearsal takes a second."""
    path = own_home / "short.toml"
    path.write_text(PROFILE)
    return str(path)


def test_a_sound_oven_is_told_as_it_is(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["dry-run", job]) == 0
    shown = capsys.readouterr().out
    assert "truly" in shown
    assert "not treated as asked" not in shown


def test_a_wrong_couple_is_complete_and_untrue_and_says_so(
    job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["dry-run", job, "--fault", "sensor-k-as-j@0s"]
    assert run(words) == UNTRUE
    shown = capsys.readouterr().out
    assert "The part was not treated as asked" in shown
    assert shown.splitlines()[-1].startswith("The part was not treated as asked")
    assert "software cannot see" in shown
    assert run([*words, "--json"]) == UNTRUE
    told = json.loads(capsys.readouterr().out)
    assert not told["treated_as_asked"]
    soak = next(row for row in told["truth"] if row["label"] == "soak")
    assert soak["read_c"] == pytest.approx(205.0, abs=2.0)
    assert soak["true_c"] > 260.0  # J shows a K couple far too low
    assert soak["part_c"] > 260.0


def test_a_limit_that_is_simulated_opens_and_is_named(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["dry-run", job, "--fault", "sensor-k-as-j@0s", "--limit", "240 C"]
    assert run(words) != 0
    shown = capsys.readouterr().out
    assert "independent limit at 240 °C (464 °F) opened" in shown


def test_without_a_limit_it_says_that_none_was_there(job: str, capsys: pytest.CaptureFixture[str]) -> None:
    run(["dry-run", job])
    assert "no independent limit was simulated" in capsys.readouterr().out


def test_a_part_is_in_the_simulated_oven_only_when_hands_have_put_it_there(own_home: Path) -> None:
    load = 'kind = "operator"\nstep = "load"\nsay = "in"\nhold = "205 C"\nat_most = "1h"\n'
    head, soak = PROFILE.rsplit("[[segment]]", 1)
    path = own_home / "hot.toml"
    path.write_text(f"{head}[[segment]]\n{load}[[segment]]{soak}")
    oven = load_oven(bundled("ovens") / "tempering-oven.toml")
    watch, seen = TruthWatch(), dict[int, set[bool]]()

    def both(runner: Runner) -> None:
        watch(runner)
        seen.setdefault(runner.now.cursor.segment, set()).add(rehearsal.board.plant.part is not None)

    rehearsal = rehearse(oven, Job(load_profile(path)), on_tick=both)
    watch.rehearsal = rehearsal
    rehearsal.run()
    assert seen[0] == {False}
    assert seen[2] == {True}
    soak_told = next(s for s in segments_told(watch) if s.label == "soak")
    assert soak_told.part_c is not None
    assert soak_told.part_c < 217.0


@pytest.mark.parametrize(
    ("part_c", "asked"), [(463.0, True), (480.0, True), (453.0, False), (425.0, False), (495.0, False)]
)
def test_a_spared_part_may_be_as_far_under_its_goal_as_a_place_may(part_c: float, asked: bool) -> None:
    """A leaf spring: goal 473 °C, its plan holds the sensor 25 K lower and says "448 to 488 °C".

    20 K under the goal a temper of hours is worth minutes (Hollomon and Jaffe 1945): that is no treatment as
    asked.
    """
    told = SegmentTruth(3, "temper", 473.0, 448.0, 448.0, part_c, 449.0, held_c=448.0)
    assert (not_as_asked((told,), {3: 5.0}) == "") is asked


@pytest.mark.parametrize(
    ("part_c", "said"),
    [(227.7, "10 K above its goal"), (208.0, "10 K below"), (222.0, ""), (None, "")],
)
def test_a_part_that_stands_off_its_goal_with_right_readings_is_told(part_c: float | None, said: str) -> None:
    """A sensor on its goal says nothing of the place where the part lies."""
    told = SegmentTruth(1, "temper 1: soak", 218.0, 218.0, 218.0, part_c, 218.2, part_c, 228.0, held_c=218.0)
    assert said in "".join(stood_apart((told,)))
    assert bool(stood_apart((told,))) is bool(said)


def test_a_part_that_the_plan_spares_has_its_own_line() -> None:
    told = SegmentTruth(3, "temper", 473.0, 448.0, 448.0, 460.0, 449.0, held_c=448.0)
    assert stood_apart((told,)) == ()


def test_a_temper_with_its_sensor_held_lower_is_watched_where_it_is_held_and_told_by_its_part(
    own_home: Path,
) -> None:
    path = own_home / "spared.toml"
    lower = PROFILE.replace('to = "205 C"', 'to = "180 C"')
    path.write_text(lower.replace('time = "5 min"', 'time = "5 min"\nsensor = "180 C"'))
    told, judged = TruthWatch(), Watch(())

    def both(runner: Runner) -> None:
        told(runner)
        judged(runner)

    oven = load_oven(bundled("ovens") / "tempering-oven.toml")
    told.rehearsal = judged.rehearsal = rehearse(oven, Job(load_profile(path)), on_tick=both)
    assert told.rehearsal.run().outcome == "complete"
    wrong = not_as_asked(segments_told(told), bands_k(told.rehearsal))
    assert "205 °C (401 °F) was asked" in wrong, "the chamber is at 180 °C, and no element shines on the part"
    assert "shield" in wrong
    assert judged.soaks[1].seconds >= 300.0  # not seen at all, while it looked for the sensor at 205 °C
    assert judged.off_goal() == ("", False)


def test_a_limit_that_the_job_itself_would_open_is_refused(
    job: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["dry-run", job, "--limit", "5C"]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "this job goes to 205 °C" in shown.err
