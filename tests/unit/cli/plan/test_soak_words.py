"""What `run --soak` says before the heat: its ramp, its hold, its end; by the forecast of plan and screen."""

import re
from dataclasses import replace
from typing import get_args

import pytest

from kilnctl.cli.plan.soak_words import soak_words
from kilnctl.cli.terminal.options import HoldAt
from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.forecast.band import predict
from kilnctl.heat.job import Job
from kilnctl.link.snapshot import Command
from kilnctl.model.maker_constants import first_guess
from kilnctl.rehearsal.dry_run import rehearse
from kilnctl.treatment.planning import soak_job

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")


def test_a_soak_says_its_ramp_its_hold_and_its_end():
    """From 20 to 218 degC at 400 degC/h are 29.7 min, and the whole ends when the live view says so too."""
    profile, model = soak_job(218.0, 7200.0, OVEN), replace(first_guess(OVEN), learned=True)
    said = soak_words(profile, OVEN, model)
    assert "heats to 218 °C (424 °F) at 400 °C/h" in said
    assert 29 <= int(re.search(r"h\), about (\d+) min", said)[1]) <= 33
    assert "another rate" in said
    assert "holds it for 2 h" in said
    assert "cools with the heat off to 45 °C" in said
    ends_s = predict(profile, model, OVEN.ambient_c, OVEN.ambient_c).ends[-1].at_s
    hours, minutes = re.search(r"in all about (\d+) h (\d+) min", said).groups()
    assert 3600 * int(hours) + 60 * int(minutes) == pytest.approx(ends_s, abs=60.0)


def test_an_oven_that_nobody_learned_may_take_longer_and_says_so():
    assert "not learned" in soak_words(soak_job(218.0, 7200.0, OVEN), OVEN, None)


def test_what_is_said_beforehand_holds_the_first_record_of_an_oven_that_nobody_learned():
    """It said "about 7 min ... in all about 30 min" of a first heat to 60 °C that took 42 (invented oven)."""
    job = soak_job(60.0, 600.0, OVEN)
    took_s = rehearse(OVEN, Job(job)).run().summary["duration_s"]
    said = soak_words(job, OVEN, None)
    early, late = re.search(r"else (.+) to (.+): not learned", said).groups()
    assert minutes(early) <= took_s / 60.0 <= minutes(late)
    assert "adjust next" in said


def test_the_record_of_a_soak_can_be_had_before_it_has_cooled():
    asked: list[float] = []

    def on_tick(runner):
        if runner.now.cursor.segment == 2 and not asked:
            asked.append(runner.now.elapsed_s)
            assert runner.command(Command("adjust", args={"what": "next"}, who="me")).accepted

    heat = rehearse(OVEN, Job(soak_job(60.0, 600.0, OVEN)), on_tick=on_tick)
    assert heat.run().outcome == "complete"
    assert heat.runner.now.elapsed_s <= asked[0] + 2.0


def minutes(text: str) -> float:
    hours, mins = (re.search(rf"(\d+) {unit}\b", text) for unit in ("h", "min"))
    return 60.0 * int(hours[1] if hours else 0) + int(mins[1] if mins else 0)


def test_an_oven_that_never_gets_there_has_no_end():
    weak = replace(first_guess(OVEN), learned=True).scaled(power=0.05)
    said = soak_words(soak_job(250.0, 600.0, OVEN), OVEN, weak)
    assert "no end is predicted" in said


def test_the_help_tells_the_rate_of_a_soak_and_how_to_ask_for_another():
    """Nobody had asked for 400 °C/h, and nothing said where it can be changed."""
    told = get_args(HoldAt)[1].help
    assert f"{soak_job(150.0, 600.0, OVEN).segments[0].rate_c_per_h:.0f} °C/h" in told
    assert "profile-file" in told


@pytest.mark.parametrize(("goal_c", "hold_s"), [(60.0, 120.0), (218.0, 7200.0), (150.0, 600.0)])
def test_the_times_of_the_steps_make_up_the_time_of_the_whole(goal_c: float, hold_s: float) -> None:
    """ "About 9 min; 2 min; about 47 min; in all 44 min to 3 h 18 min": their sum was nowhere."""
    said = soak_words(soak_job(goal_c, hold_s, OVEN), OVEN, None)
    steps, whole = said.split("in all about ")
    times = re.findall(r"(?:about|holds it for) ((?:\d+ h)?(?: ?\d+ min)?)", steps)
    assert len(times) == 3, said
    total = re.match(r"(?:\d+ h)?(?: ?\d+ min)?", whole)
    assert minutes(total[0]) == sum(minutes(one) for one in times)
    early, late = re.search(r"else (.+) to (.+): not learned", whole).groups()
    assert minutes(early) <= minutes(total[0]) <= minutes(late)
