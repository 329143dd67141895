"""The line view: every change is a line at once, in a pipe too."""

import contextlib
import dataclasses
from collections.abc import Iterator

import pytest

from kilnctl.cli.heat import follow_job
from kilnctl.cli.watch.read_back_since import ReadBackSince
from kilnctl.config import home
from kilnctl.errors import ProfileError, RunRefused
from kilnctl.heat.job import Job
from kilnctl.link.snapshot import AlarmView, Snapshot, Waiting
from kilnctl.logbook.entries import Calibration, add
from kilnctl.logbook.writer import Logbook
from kilnctl.profile.segments import Profile
from kilnctl.tomlfile import loads

BASE = Snapshot(
    oven="tempering-oven",
    simulated=True,
    sequence=1,
    utc="2026-01-01T00:00:00+00:00",
    state="running",
    word="heating",
    elapsed_s=10.0,
    process_c=100.0,
    setpoint_c=100.0,
    part_c=None,
    goal_c=218.0,
    limit_c=260.0,
    duty=0.5,
    heat_on=True,
    run=1,
    segment=0,
)


@pytest.mark.usefixtures("own_home")
@pytest.mark.parametrize("record_only", [False, True])
def test_no_heat_is_asked_for_with_a_correction_that_proves_nothing_so_hot(record_only: bool) -> None:
    """An older program took one point at 100 degC for 1000: IEC 60584-1 leaves 0.75 % of 900 K open."""
    with Logbook(home.logbook_path()) as book:
        add(
            book,
            Calibration("hardening-furnace", "process", 1.0, -9.0, ((100.0, 91.0),), -9.0, None, "w"),
            0.0,
        )
    text = (home.bundled("ovens") / "hardening-furnace.toml").read_text(encoding="utf-8")
    heat = 'name = "p"\n[[segment]]\nkind = "soak"\nat = "1000 C"\ntime = "10min"\npurpose = "harden"\n'
    todo = Job(loads(heat, Profile, ProfileError, "p"), record_only=record_only)
    with contextlib.nullcontext() if record_only else pytest.raises(RunRefused, match="good only to 8"):
        follow_job.start_for(text, "oven.toml", todo, 1.0, {})


class Pictures:
    """A controller's end that sends what it was given, all within one second."""

    def __init__(self, *sent: Snapshot) -> None:
        self._sent = sent

    def snapshots(self) -> Iterator[Snapshot]:
        yield from self._sent


def follow(*sent: Snapshot) -> int:
    since = ReadBackSince()
    return follow_job.follow(Pictures(*sent), "tempering-oven", 1, print, False, since)  # type: ignore[arg-type]


def test_each_change_of_state_alarm_and_trip_is_printed_at_once(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    alarm = AlarmView("door_open", "Door: open for 91 s", "soon", "not acknowledged", 20.0)
    sent = (
        BASE,
        dataclasses.replace(BASE, sequence=2, process_c=101.0),  # no change: no line
        dataclasses.replace(BASE, sequence=3, word="soaking", segment=1),
        dataclasses.replace(BASE, sequence=4, word="soaking", segment=1, alarms=(alarm,)),
        dataclasses.replace(BASE, sequence=5, state="tripped", word="tripped", trip="Door: open for 121 s"),
    )
    monkeypatch.setattr(follow_job, "result", lambda *_: 4)
    assert follow(*sent) == 4
    lines = [line.rstrip() for line in capsys.readouterr().out.splitlines()]
    assert [line.partition(":")[0] for line in lines[:3]] == ["heating", "soaking", "soaking"]
    assert lines[3] == "  alarm (soon, not acknowledged): Door: open for 91 s"
    assert "Door: open for 121 s" in lines[4]
    assert len(lines) == 5


def test_an_alarm_that_is_over_says_so_and_threatens_nothing_more(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """ "At 120 s the run ends" went on hours after the door was shut; one that was seen went unsaid."""
    stands = AlarmView(
        "door_open", "Door: open for 91 s; at 120 s the run ends", "soon", "not acknowledged", 20.0
    )
    sent = (
        dataclasses.replace(BASE, alarms=(stands,)),
        dataclasses.replace(BASE, alarms=(dataclasses.replace(stands, state="gone, not acknowledged"),)),
        dataclasses.replace(BASE, alarms=(dataclasses.replace(stands, state="acknowledged"),)),
        dataclasses.replace(BASE, alarms=()),
        dataclasses.replace(BASE, state="complete"),
    )
    monkeypatch.setattr(follow_job, "result", lambda *_: 0)
    follow(*sent)
    lines = [line.rstrip() for line in capsys.readouterr().out.splitlines() if line.startswith("  ")]
    assert lines == [
        "  alarm (soon, not acknowledged): Door: open for 91 s; at 120 s the run ends",
        "  alarm (soon, gone, not acknowledged): Door: open for 91 s; over now",
        "  alarm (soon, acknowledged): Door: open for 91 s; at 120 s the run ends",
        "  alarm over: Door: open for 91 s",
    ]


def test_a_plan_that_stands_still_says_why_and_promises_no_time() -> None:
    held = dataclasses.replace(BASE, state="held", word="held", total_left_s=600.0)
    assert "left" not in follow_job.live_line(held)
    assert "the plan waits until the door is shut" in follow_job.live_line(held)


def test_a_step_is_printed_with_its_command_and_again_when_it_is_late() -> None:
    """Whoever listens to a pipe must hear that a part waits at heat, and again before it is too late."""
    waits = Waiting("quench", "Quench 1 of 3: into the oil. Answer done.", 10.0, 610.0, True)
    ready = dataclasses.replace(BASE, word="ready to quench", waiting=waits, goal_c=None)
    late = dataclasses.replace(ready, elapsed_s=310.0)
    assert follow_job.live_line(ready).endswith(
        "| Quench 1 of 3: into the oil. Answer within 10 min: `kilnctl answer done`"
    )
    assert "| LATE: Quench 1 of 3" in follow_job.live_line(late)
    assert follow_job.change_of(ready) != follow_job.change_of(late)


def test_the_end_says_once_that_the_heat_is_off_and_only_where_it_is() -> None:
    """'Nobody confirmed "quench" in time; the heat is off; heat off, read back'."""
    said: list[str] = []
    cause = 'nobody confirmed "quench" in time; the heat is off'
    summary = {"outcome": "ended_early", "cause": cause, "run": 3, "isolator": "red switch"}
    for confirmed in (True, False):
        follow_job.tell({**summary, "heat_off_confirmed": confirmed}, said.append, as_json=False)
    assert said[0] == '\nended early: nobody confirmed "quench" in time; heat off, read back (run 3)'
    assert "the heat is off" not in said[1]
    assert "OFF IS NOT CONFIRMED. CUT THE POWER NOW: red switch" in said[1]
