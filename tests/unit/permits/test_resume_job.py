"""From a record to a job: what cannot be taken up is refused with what to do, the rest keeps what it knew."""

import functools
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from kilnctl.clock import VirtualClock, machine_start
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.errors import ProfileError, RunRefused
from kilnctl.heat.job import Job
from kilnctl.logbook.entries import LearnedOven, add
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.records import RunHeader
from kilnctl.logbook.sample import Sample
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import latch
from kilnctl.model.nameplate import nameplate
from kilnctl.model.oven_model import advance, at_rest
from kilnctl.permits.outage import Now, Outage
from kilnctl.permits.resume_job import (
    BrokenOff,
    broken_off,
    job_as_it_was,
    job_of,
    judge_outage,
    marks,
    outage_now,
)
from kilnctl.permits.resume_rules import TakenUp
from kilnctl.profile.cursor import Cursor
from kilnctl.profile.segments import Profile
from kilnctl.readings import Trip
from kilnctl.tomlfile import loads

OVEN_FILE = (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
OVEN = load_oven(home.bundled("ovens") / "tempering-oven.toml")
MODEL = nameplate(OVEN)
TEMPER = """
name = "cut temper"
steel = "O1"

[[segment]]
kind = "ramp"
to = "218 C"
rate = "300 C/h"
purpose = "temper"

[[segment]]
kind = "soak"
at = "218 C"
time = "2 h"
clock = "oven"
purpose = "temper"
"""
CUT_UTC = datetime(2026, 1, 1, 12, 0, tzinfo=UTC).timestamp()
MINUTES = 60


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Logbook]:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    with Logbook(home.logbook_path()) as book:
        yield book


def header(**over: Any) -> RunHeader:
    known: dict[str, Any] = {
        "oven": OVEN.name,
        "oven_file": OVEN_FILE,
        "profile": TEMPER,
        "profile_name": "cut temper",
        "started_utc": CUT_UTC - 60.0 * MINUTES,
        "period_s": 10.0,
        "extra": {"boot": "first", "boot_s": 1000.0, "resume_within_s": 900.0, "planned_s": [2500.0, 7200.0]},
    }
    return RunHeader(**(known | over))


@functools.cache
def heated(minutes: int = MINUTES) -> tuple[list[Sample], Any]:
    """Return a heat of the model oven, 218 degC within the hour, and where the oven stands."""
    state, made = at_rest(20.0), []
    for i in range(minutes * 6):
        on = state.junction_c < 218.0
        made.append(
            Sample(
                10.0 * i,
                CUT_UTC - 60.0 * minutes + 10.0 * i,
                1,
                1,
                218.0,
                state.junction_c,
                float(on),
                on,
                soak_oven_s=1200.0,
                soak_part_s=0.0,
            )
        )
        state = advance(MODEL, state, float(on), 20.0, 10.0)
    return made, state


def cut_run(book: Logbook, minutes: int = MINUTES, **over: Any) -> int:
    run = book.start_run(header(**over))
    book.append(run, heated(minutes)[0], [])
    return run


def taken(book: Logbook, run: int) -> BrokenOff:
    return broken_off(Reader(book.connection), run)


def test_what_the_record_knows(book: Logbook) -> None:
    heat = taken(book, cut_run(book))
    cut = heat.cut
    assert (cut.within_s, cut.ended, cut.again, cut.latched) == (900.0, "", False, False)
    assert (heat.oven.name, cut.profile.name, cut.newest.segment) == (OVEN.name, "cut temper", 1)
    # the newest sample was written 3590 s after the start, at 1000 s of the machine's own clock
    assert heat.then.boot_s == pytest.approx(1000.0 + 60.0 * MINUTES - 10.0)
    assert (heat.then.boot, heat.then.utc_s) == ("first", CUT_UTC - 10.0)
    assert job_as_it_was(heat) == Job(cut.profile, planned_s=(2500.0, 7200.0), resumes=cut.run)


def test_of_a_scaled_heat_the_machines_clock_is_real(book: Logbook) -> None:
    heat = taken(book, cut_run(book, time_scale=20.0))
    assert heat.then.boot_s == pytest.approx(1000.0 + (60.0 * MINUTES - 10.0) / 20.0)


@pytest.mark.parametrize(
    ("over", "minutes", "words"),
    [
        ({"oven_file": ""}, MINUTES, "has no record to resume from"),
        ({}, 0, "has no record to resume from"),
        ({"extra": {"wait_s": 7200.0}}, MINUTES, "still waiting to start"),
    ],
)
def test_a_run_that_holds_too_little_is_started_anew(
    book: Logbook, over: dict[str, Any], minutes: int, words: str
) -> None:
    with pytest.raises(RunRefused, match=f"run 1 .*{words}.*start"):
        taken(book, cut_run(book, minutes, **over))


def test_a_delayed_heat_that_had_begun_goes_on(book: Logbook) -> None:
    assert taken(book, cut_run(book, extra={"wait_s": 1800.0})).cut.run == 1


def test_a_complete_run_is_not_taken_up(book: Logbook) -> None:
    run = cut_run(book)
    book.finish(run, "complete", {}, CUT_UTC)
    with pytest.raises(RunRefused, match="is complete"):
        taken(book, run)


def test_only_the_newest_run_of_an_oven(book: Logbook) -> None:
    first = cut_run(book)
    cut_run(book, oven="another oven")
    assert taken(book, first).cut.run == first
    cut_run(book)
    with pytest.raises(RunRefused, match="is not the newest"):
        taken(book, first)


def test_a_run_that_ended_otherwise_or_was_taken_up_before_says_so(book: Logbook) -> None:
    run = cut_run(book, extra={"resumes": 7})
    book.finish(run, "stopped", {}, CUT_UTC)
    cut = taken(book, run).cut
    assert (cut.ended, cut.again, cut.within_s) == ("stopped", True, None)


def utc() -> datetime:
    return datetime.fromtimestamp(CUT_UTC, UTC)


def test_its_own_latch_stays_and_a_tripped_or_a_strange_one_is_refused(book: Logbook) -> None:
    run = cut_run(book)
    armed = latch.Latch(OVEN.name, utc)
    armed.arm(run)
    assert taken(book, run).cut.latched
    armed.trip(Trip("smoke", "smoke", 0.0))
    with pytest.raises(RunRefused, match="kilnctl reset"):
        taken(book, run)
    armed.release()
    latch.Latch(OVEN.name, utc).arm(run + 1)
    with pytest.raises(RunRefused, match="was interrupted"):
        taken(book, run)


def after(seconds: float) -> float:
    """Return what the oven reads this long after the last row."""
    state = heated()[1]
    for _ in range(round(seconds / 10.0)):
        state = advance(MODEL, state, 0.0, 20.0, 10.0)
    return float(state.junction_c)


AFTER_10_MIN_C = after(600.0)


def seen(book: Logbook, heat: BrokenOff, now: Now) -> tuple[TakenUp, Outage]:
    return judge_outage(Reader(book.connection), heat, AFTER_10_MIN_C, now)


@pytest.mark.parametrize(
    ("start", "wall_s", "up_s", "dark_s", "late"),
    [
        (
            "first",
            -1e6,
            590.0,
            590.0,
            False,
        ),  # within one start it does not matter how the wall clock was set
        ("first", -1e6, 610.0, 610.0, True),
        ("second", 650.0, 590.0, 650.0, False),  # the time for the key begins with the power
        ("second", 650.0, 610.0, 650.0, True),
    ],
)
def test_how_long_it_was_dark_and_whether_the_key_comes_in_time(
    book: Logbook, start: str, wall_s: float, up_s: float, dark_s: float, late: bool
) -> None:
    heat = taken(book, cut_run(book, extra={"boot": "first", "boot_s": 1000.0, "resume_within_s": 600.0}))
    boot_s = up_s + heat.then.boot_s if start == "first" else up_s
    found, outage = seen(book, heat, Now(heat.then.utc_s + wall_s, boot_s, start))
    assert outage.seconds == pytest.approx(dark_s)
    assert found.start.carry_s == found.credited_s >= 1200.0
    assert any("time allowed for the key" in said for said in found.not_alone) is late


def test_a_scaled_heat_was_dark_for_its_own_seconds(book: Logbook) -> None:
    heat = taken(book, cut_run(book, time_scale=20.0))
    now = Now(0.0, heat.then.boot_s + 610.0 / 20.0, "first")
    assert seen(book, heat, now)[1].seconds == pytest.approx(610.0)


def test_clocks_that_contradict_each_other_leave_it_unknown(book: Logbook) -> None:
    heat = taken(book, cut_run(book))
    found, outage = seen(book, heat, Now(0.0, 60.0, "second"))
    assert outage.seconds is None
    assert found.way == "attended"


def test_a_learned_oven_is_judged_by_what_it_learned(book: Logbook) -> None:
    heat = taken(book, cut_run(book))
    clock = VirtualClock(utc())
    guessed = outage_now(heat, AFTER_10_MIN_C, clock)[1].by_cooling_s
    assert guessed == pytest.approx(610.0, abs=60.0)
    leaky = replace(MODEL, wall_conductance=3.0 * MODEL.wall_conductance, leak=3.0 * MODEL.leak)
    add(book, LearnedOven(OVEN.name, leaky.to_dict()), CUT_UTC)
    learned = outage_now(heat, AFTER_10_MIN_C, clock)[1].by_cooling_s
    assert learned is not None
    assert learned < 0.8 * guessed


PROFILE = loads(TEMPER, Profile, ProfileError, "test.toml")


def test_a_job_goes_on_from_there_or_is_refused(book: Logbook) -> None:
    heat = taken(book, cut_run(book))
    outage = Outage(600.0, 600.0, None)
    asked = job_as_it_was(heat)
    found = TakenUp("attended", Cursor(0, carry_s=1300.0), "21 min count", ("nobody opted in", "it tripped"))
    job = job_of(heat, found, outage, asked, alone=False)
    assert (job.start, job.resumes, job.profile) == (found.start, 1, asked.profile)
    assert job.taken_up.startswith("run 1 resumed: it was interrupted for 10 min by the clocks")
    assert job.taken_up.endswith("21 min count")
    with pytest.raises(RunRefused, match="run 1 needs a person: nobody opted in; it tripped"):
        job_of(heat, found, outage, asked, alone=True)
    with pytest.raises(RunRefused, match="run 1 cannot be resumed: partly hardened"):
        job_of(heat, TakenUp("never", Cursor(), "partly hardened"), outage, asked, alone=False)
    by_key = job_of(heat, TakenUp("alone", Cursor(1), "it adds up"), outage, asked, alone=True)
    assert by_key.start == Cursor(1)


def test_a_header_keeps_what_taking_up_needs() -> None:
    clock = VirtualClock()
    clock.advance(60.0)
    clock.suspended_s = 5.0
    job = Job(PROFILE, wait_s=30.0, planned_s=(1.0, None), resume_within_s=600.0)
    kept = {"wait_s": 30.0, "boot": machine_start(), "boot_s": 65.0, "planned_s": [1.0, None]}
    kept |= {"resume_within_s": 600.0}
    assert marks(clock, job) == kept
    again = Job(PROFILE, wait_s=30.0, planned_s=(1.0, None), resume_within_s=600.0, resumes=4, taken_up="so")
    assert marks(clock, again) == kept | {"resumes": 4, "taken_up": "so"}
