"""status, answer, adjust, acknowledge: what crosses the real socket, and what a person is told."""

import fcntl
import json
import os
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from heats import one_run
from link_ends import OVEN, Host, snapshot

from kilnctl.cli.main import run
from kilnctl.cli.terminal import ask_controller
from kilnctl.cli.watch.status import lines
from kilnctl.config import home
from kilnctl.errors import RunRefused
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import hot_ovens, latch, running_ovens, supervisor_report
from kilnctl.marks.process_identity import drill_lock, owner_of


def test_status_says_what_matters(host: Host, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["status"]) == 0
    said = capsys.readouterr().out
    for word in ("left: soaking", "218", "1 h 30 min", "run 7", "look at the colour", "the part is late"):
        assert word in said


def test_status_for_scripts_is_one_object(host: Host, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["status", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["ovens"]["left"]["process_c"] == 217.6
    assert said["interrupted"] == []


def test_a_door_that_is_open_in_a_recording_is_said() -> None:
    recording = replace(snapshot(1), state="held", word="cold", only_watched=True)
    assert "  the door is open" in lines(recording)
    assert "  the door is open" not in lines(replace(recording, state="running"))
    assert "  the door is open" not in lines(replace(recording, word="waiting to start"))


def test_status_without_a_controller(own_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["status"]) == 0
    assert capsys.readouterr().out == "nothing is running\n"


def test_a_set_up_step_that_heats_is_no_interrupted_heat(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    oven = "tempering-oven"
    running_ovens.mark(oven, (home.bundled("ovens") / f"{oven}.toml").read_text(encoding="utf-8"))
    with open(own_home / drill_lock(oven), "w", encoding="utf-8") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        assert run(["status"]) == 0
        said = capsys.readouterr().out
        ids = running_ovens.ids()
        words = supervisor_report.LastWords("2026-01-01T00:00:00+00:00", "the drill died", {oven: False}, ids)
        supervisor_report.write(words)  # it has ended, and its supervisor goes on trying
        assert run(["status"]) == 0
    assert said == f"{oven}: a set-up step is under way and may heat; `kilnctl off` ends it\n"
    assert "its off was never read back: tempering-oven" in capsys.readouterr().out


def test_status_after_a_crash_names_the_oven_that_may_be_hot(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    running_ovens.mark(
        "tempering-oven", (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
    )
    ids = {found.name: found.id for found in running_ovens.marks()}
    utc = "2026-01-01T00:00:00+00:00"
    supervisor_report.write(
        supervisor_report.LastWords(utc, "the controller died", {"tempering-oven": False}, ids)
    )
    run(["status"])
    said = capsys.readouterr().out
    assert "interrupted" in said
    assert "tempering-oven" in said
    assert "the controller died" in said
    supervisor_report.write(
        supervisor_report.LastWords(utc, "an earlier heat", {"tempering-oven": True}, {"tempering-oven": "x"})
    )
    run(["status"])
    said = capsys.readouterr().out
    assert "never read back" in said
    assert "an earlier heat" not in said
    assert "heat is off, read back" not in said


def test_an_oven_that_nobody_has_seen_cold_is_called_hot_without_any_controller(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The sign is there from before the heat; the record knows the last reading, a watch its own."""
    with Logbook(home.logbook_path()) as book:
        number = one_run(book, count=3600, end=False)
        last = Reader(book.connection).newest(number)
    assert last is not None
    assert last.process_c is not None
    hot_ovens.sign(hot_ovens.Hot("tempering-oven", "2026-01-01T00:00:00+00:00", number))
    hot_ovens.sign(hot_ovens.Hot("left one", "2026-01-01T12:00:00+00:00", 3, 412.0))
    (own_home / "hot" / "torn.json").write_text("{")
    run(["status"])
    said = capsys.readouterr().out
    at = datetime.fromtimestamp(last.utc_s).strftime("%Y-%m-%d %H:%M")
    assert f"tempering-oven: off, but it may be HOT: {last.process_c:.0f} °C" in said
    assert f"when the heat ended, {at}; not yet seen below 50 °C (122 °F); nothing is watching it" in said
    assert "left one: off, but it may be HOT: 412 °C (774 °F) at the last reading" in said
    assert "left one: off, but it may be HOT: 412 °C (774 °F)" in said
    assert "torn: off, but it may be HOT: nobody knows how hot it got" in said
    assert "`kilnctl run --record-only --oven tempering-oven` watches it" in said
    run(["status", "--json"])
    assert {o["oven"] for o in json.loads(capsys.readouterr().out)["may_be_hot"]} >= {"left one", "torn"}
    assert run(["watch"]) != 0
    assert "left one: off, but it may be HOT" in capsys.readouterr().err


def test_an_oven_that_was_cold_when_its_heat_broke_off_is_not_called_hot(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """ "It may be HOT: 24 °C when the heat ended; not yet seen below 50 °C" contradicts itself."""
    with Logbook(home.logbook_path()) as book:
        number = one_run(book, count=100, end=False)
    hot_ovens.sign(hot_ovens.Hot("tempering-oven", "2026-01-01T00:00:00+00:00", number))
    run(["status"])
    said = capsys.readouterr().out
    assert "tempering-oven: off, 22 °C (72 °F) when the heat ended, 2026" in said
    assert "nothing has watched it since, and it may be hotter. Keep it shut; `kilnctl run" in said
    assert "HOT" not in said


def test_a_watched_oven_needs_no_sign_and_one_that_was_left_shows_nothing_old(
    host: Host, capsys: pytest.CaptureFixture[str]
) -> None:
    hot_ovens.sign(hot_ovens.Hot("left", "2026-01-01T00:00:00+00:00", 7, 300.0))
    run(["status"])
    assert "may be HOT" not in capsys.readouterr().out
    host.holds = {"left": {"run": 7, "busy": False, "holds": False}}
    run(["status"])
    said = capsys.readouterr().out
    assert "left: off, but it may be HOT: 300 °C" in said
    assert "soaking" not in said


def armed(oven: str, run_id: int) -> latch.Latch:
    """Return the latch of a heat that is about to begin: armed on the disk."""
    made = latch.Latch(oven, lambda: datetime(2026, 1, 1, tzinfo=UTC))
    made.arm(run_id)
    return made


def test_status_does_not_call_a_heat_that_starts_an_interrupted_one(
    host: Host, capsys: pytest.CaptureFixture[str]
) -> None:
    """Latch and mark are on the disk before the first picture is published."""
    armed("right", 8)
    running_ovens.mark("right", (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8"))
    host.holds["right"] = {"run": 8, "busy": True}
    run(["status"])
    said = capsys.readouterr().out
    assert "right: the heat is about to begin" in said
    assert "interrupted" not in said
    assert "latched" not in said


@pytest.mark.parametrize("held", [{}, {"left": {"run": 7, "busy": False}}], ids=["not known", "over"])
def test_status_names_an_interrupted_heat_beside_a_running_controller(
    held: dict[str, dict[str, object]], host: Host, capsys: pytest.CaptureFixture[str]
) -> None:
    armed("left", 7)
    host.holds = held
    run(["status"])
    said = capsys.readouterr().out
    local = datetime.fromisoformat("2026-01-01T00:00:00+00:00").astimezone().strftime("%Y-%m-%d %H:%M")
    assert f'a heat of oven "left" that began at {local} was interrupted' in said
    assert "`kilnctl run --from 7`" in said


@pytest.mark.parametrize(
    ("lives", "held", "told"),
    [
        (False, {}, True),
        (True, {"right": {"run": 8, "busy": False, "holds": False}}, True),  # left by this controller, unread
        (True, {"right": {"run": 8, "busy": False, "holds": True}}, False),
        (True, {}, False),  # just about to begin
    ],
)
def test_status_beside_a_controller_says_whose_off_was_never_read_back(
    lives: bool,
    held: dict[str, dict[str, object]],
    told: bool,
    host: Host,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """It was "nothing is running; right: off, but it may be HOT", with the cable out since the crash."""
    if not lives:
        monkeypatch.setattr(running_ovens, "owner_of", lambda _pid: owner_of(os.getpid())._replace(started=1))
    text = (home.bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")
    running_ovens.mark("right", text.replace('"tempering-oven"', '"right"'))
    hot_ovens.sign(hot_ovens.Hot("right", "2026-01-01T00:00:00+00:00", 8, 300.0))
    host.holds = held
    run(["status"])
    said = capsys.readouterr().out
    assert ("its off was never read back: right" in said) is told
    assert not (told and "right: off, but" in said)
    (home.home() / "running" / "right.toml").write_text("torn", encoding="utf-8")
    run(["status"])
    assert ("never read back: right" in capsys.readouterr().out) is not bool(
        held.get("right", {}).get("holds")
    )


def test_a_heat_that_ends_while_status_looks_is_no_interruption(
    host: Host, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its latch is read before the controller is asked, and has gone when the answer comes."""
    made, before = armed("left", 7), latch.latched_ovens

    def read_and_end() -> list[latch.Latched]:
        found = before()
        made.release()
        return found

    monkeypatch.setattr(latch, "latched_ovens", read_and_end)
    host.holds = {"left": {"run": 7, "busy": False}}
    run(["status"])
    assert "interrupted" not in capsys.readouterr().out


def test_the_set_up_takes_over_an_oven_that_is_only_watched(
    host: Host, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Hot or not; a heat is never taken over."""
    with pytest.raises(RunRefused, match="still run by the controller; `kilnctl off` ends that"):
        ask_controller.take_over("left")
    assert host.took == []
    ask_controller.take_over("right")
    host.holds = {"left": {"run": 7, "busy": False, "holds": True}}
    ask_controller.take_over("left")
    assert [(c.word, c.oven) for c in host.took] == [("let go", "left")]
    host.holds = {"left": {"run": 7, "busy": False, "holds": True}}
    monkeypatch.setattr(ask_controller, "LETS_GO_S", -1.0)
    with pytest.raises(RunRefused, match="has not released left"):
        ask_controller.take_over("left")


@pytest.mark.parametrize(
    ("known", "first"),
    [
        ({"off_read_back": True}, "HEAT IS OFF"),
        ({"off_read_back": None}, "OFF IS NOT CONFIRMED. CUT THE POWER NOW: red switch"),
        ({"off_read_back": False, "still_on": True}, "THE HEAT IS STILL ON. CUT THE POWER NOW: red switch"),
    ],
)
def test_status_of_a_trip_says_the_action_first_then_cause_then_caution(
    known: dict[str, Any], first: str
) -> None:
    tripped = replace(
        OVEN,
        heat_on=False,
        state="tripped",
        word="tripped",
        trip="Door: open for 123 s",
        waiting=None,
        **known,
    )
    said = lines(replace(tripped, isolator="red switch", alarms=()))
    assert first in said[1]
    assert said[2] == "  tripped: Door: open for 123 s"
    assert "cut the power" in said[3].lower() or "leave" in said[3]


def test_a_heat_whose_port_was_taken_away_still_tells_what_was_read_last(
    own_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """ "Nobody knows how hot it got" of an oven that had been read at 22 °C in that heat."""
    with Logbook(home.logbook_path()) as book:
        number = one_run(book, count=100, end=False)
        last = Reader(book.connection).newest(number)
        assert last is not None
        assert last.process_c is not None
        blind = [last._replace(elapsed_s=last.elapsed_s + n, process_c=None) for n in range(1, 300)]
        book.append(number, blind, [])
    hot_ovens.sign(hot_ovens.Hot("tempering-oven", "2026-01-01T00:00:00+00:00", number))
    run(["status"])
    said = capsys.readouterr().out
    assert f"it may be HOT: {last.process_c:.0f} °C" in said
    assert "nothing was read since; nothing is watching it" in said
    assert "not yet seen below" not in said, "it was seen at 22 °C"
    assert "at the last reading" in said
