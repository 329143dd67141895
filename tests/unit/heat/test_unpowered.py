"""A recording never heats: a board that falls silent is told, and nothing is to be cut."""

from dataclasses import replace
from functools import partial
from typing import Any

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import load_oven
from kilnctl.heat.job import Job
from kilnctl.heat.unpowered import silent_note
from kilnctl.link.snapshot import Snapshot
from kilnctl.link.trip_head import trip_head
from kilnctl.marks import hot_ovens, latch, running_ovens
from kilnctl.marks.latch import Latch
from kilnctl.processes.oven_thread import Hosted
from kilnctl.readings import Quality, Scan, Trip
from kilnctl.rehearsal.dry_run import Rehearsal, parse_faults, rehearse
from kilnctl.treatment.planning import soak_job

pytestmark = pytest.mark.usefixtures("own_home")

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
TOML = (bundled("ovens") / "tempering-oven.toml").read_text(encoding="utf-8")


def overheard(scan: Scan, at_s: float) -> Scan:
    """Return a scan of a line on which a stranger talks, once a second from half a minute on."""
    return replace(scan, link=replace(scan.link, foreign=max(0, int(at_s) - 30)))


class Recording:
    """A recording of a simulated oven, ended by a person after a while."""

    def __init__(self, *faults: str, for_s: float = 120.0, heats: bool = False, **found: Any) -> None:
        self.seen: list[Snapshot] = []
        self.for_s = for_s
        job = Job(soak_job(20.0 if not heats else 90.0, 7200.0, OVEN), record_only=not heats)
        self.heat: Rehearsal = rehearse(OVEN, job, faults=parse_faults(faults))
        self.latched: list[Trip] = []
        runner = self.heat.runner
        if found.get("strangers"):
            scan = runner.heat.station.oven_io.scan
            runner.heat.station.oven_io.scan = lambda at_s: overheard(scan(at_s), at_s)  # type: ignore[method-assign]
        written = Latch(OVEN.name, self.heat.clock.utc, watches=not heats)
        object.__setattr__(runner.heat.station, "latch_trip", written.trip)
        its = {key: found.get(key, False) for key in ("found_hot", "left_on")}
        runner.heat = replace(runner.heat, **its)
        runner.now = runner.now._replace(totals=replace(runner.now.totals, peak_c=found.get("peak_c")))
        running_ovens.mark(OVEN.name, TOML, heats=heats)
        self.hosted = Hosted(runner, self.heat.clock, self._take)
        self.hosted.saw_heat = partial(running_ovens.turn, OVEN.name, TOML, heats=True)
        self.hosted.read_well = partial(running_ovens.turn, OVEN.name, TOML, heats=False)
        runner.on_tick = self.hosted.publish
        self.hosted.start()
        self.hosted._thread.join(120.0)
        assert not self.hosted.alive

    def _take(self, s: Snapshot) -> None:
        self.seen.append(s)
        if s.elapsed_s >= self.for_s and s.state == "running":
            self.hosted.off("off by a test")
        elif s.elapsed_s >= self.for_s + 600.0:
            self.hosted.let_go()


def test_a_cold_board_that_is_switched_off_is_silent_and_comes_back() -> None:
    seen = Recording("replies-silent@30s~60s").seen
    assert {s.state for s in seen} == {"running", "stopped"}
    assert {s.word for s in seen if 40 < s.elapsed_s < 90} == {"silent"}
    assert {s.word for s in seen if s.elapsed_s > 95} == {"cold"}
    assert [s.alarms for s in seen if s.alarms or s.trip] == []
    note = next(s.note for s in seen if s.word == "silent")
    assert "before, it answered: its cable, or its power?" in note
    assert note.startswith("no answer for "), "it said: look in /dev/serial/by-id for 7 s; before, ..."
    assert "is it switched on?" not in note
    assert 'kilnctl commission tempering-oven --step "bus check"' in note
    assert seen[-1].note == ""


def test_what_was_never_powered_leaves_nothing_behind() -> None:
    done = Recording("replies-silent@0s")
    assert {s.word for s in done.seen if s.elapsed_s > 5} == {"silent"}
    now = done.heat.runner.now
    never = now._replace(totals=replace(now.totals, peak_c=None))
    assert "is it switched on?" in silent_note(done.heat.runner.heat, never)
    half = never._replace(scan=replace(never.scan, heat_on=False))
    assert "answers; look at its address" in silent_note(done.heat.runner.heat, half)
    assert done.hosted.status()["exit_code"] == 5
    assert done.hosted.status()["summary"]["never_heated"] is True
    assert (hot_ovens.signed(), latch.latched_ovens(), running_ovens.marked()) == ([], [], [])


def test_strange_talk_beside_a_recording_is_told_and_cuts_nothing() -> None:
    done = Recording(strangers=True)
    assert {s.state for s in done.seen} == {"running", "stopped"}
    assert "foreign_talk" in {a.kind for s in done.seen for a in s.alarms}
    assert {s.trip for s in done.seen} <= {"", None}
    assert latch.latched_ovens() == []


def test_strange_talk_in_a_heat_trips_as_ever() -> None:
    assert Recording(strangers=True, heats=True).seen[-1].trip_kind == "foreign_talk"


@pytest.mark.parametrize("found_hot", [False, True])
def test_a_hot_oven_that_is_only_watched_calls_when_it_falls_silent_and_nothing_is_cut(
    found_hot: bool,
) -> None:
    """By the sign of an earlier heat that was read back as off, or by a reading here that burns."""
    done = Recording("replies-silent@30s", found_hot=found_hot, peak_c=None if found_hot else 60.0)
    alarms = {a.kind: a for s in done.seen for a in s.alarms}
    assert alarms["link_lost"].priority == "urgent"
    assert "no reading shows that the hot oven cools" in alarms["link_lost"].reason
    assert {s.trip for s in done.seen} == {""}
    assert {trip_head(s).level for s in done.seen} == {"off"}
    assert "off but hot" in {s.word for s in done.seen if 40 < s.elapsed_s < 90}
    assert (latch.latched_ovens(), running_ovens.marked()) == ([], [])
    assert hot_ovens.signed() != []


def test_an_earlier_heat_that_nobody_has_read_back_as_off_is_one_to_call_for() -> None:
    done = Recording("replies-silent@30s", found_hot=True, left_on=True)
    assert done.seen[-1].trip_kind == "link_lost"
    assert [said.kind for said in latch.latched_ovens()] == ["link_lost"]
    assert trip_head(done.seen[-1]).level == "unproven"
    assert hot_ovens.signed() != []


def test_a_recording_that_has_seen_heat_on_is_one_to_call_for() -> None:
    done = Recording("relay-welded@10s", "contactor-welded@10s", "replies-silent@15s")
    assert done.seen[-1].trip_kind == "heat_without_demand"
    assert trip_head(done.seen[-1]).level != "off"
    assert [found.heats for found in running_ovens.marks()] == [True]


def test_a_board_that_falls_silent_after_a_heat_that_read_off_leaves_nothing_to_be_cut() -> None:
    """Its mark kept a supervisor at a silent board, and every other oven from a start."""
    done = Recording("replies-silent@800s", heats=True, for_s=700.0)
    assert {s.state for s in done.seen} == {"running", "stopped"}
    assert {s.trip for s in done.seen} == {""}
    assert done.seen[-1].off_read_back is False
    assert running_ovens.marked() == []
    assert hot_ovens.signed() != []


def test_a_heat_whose_board_falls_silent_trips_as_ever() -> None:
    done = Recording("replies-silent@30s", heats=True)
    assert done.seen[-1].trip_kind == "link_lost"
    assert running_ovens.marked() != []


def test_a_device_that_has_just_refused_a_word_has_power_and_wires() -> None:
    recording = Recording("replies-silent@30s", for_s=60.0)
    scan = recording.heat.runner.now.scan
    assert scan is not None
    why = (
        "oven: the heat cannot be switched off: writing 0 to coil 64: the device refuses: illegal data value"
    )
    refused = replace(
        scan, heat_on=None, process=replace(scan.process, value=None, quality=Quality.NO_REPLY, why=why)
    )
    now = recording.heat.runner.now._replace(scan=refused, trip=None)
    assert silent_note(recording.heat.runner.heat, now) == why


@pytest.mark.parametrize("port", ["lines/tempering-oven", "/dev/null"])
def test_a_recording_forgets_an_earlier_heat_only_where_it_has_read_off(port: str) -> None:
    """The oven's file was edited since that heat, and what reads off at its new port was never heated."""
    running_ovens.mark(OVEN.name, TOML.replace("lines/tempering-oven", port))
    Recording(left_on=True)
    assert (running_ovens.of(OVEN.name) is None) is (port in TOML)


def test_an_output_that_comes_on_again_in_the_watch_is_a_heat_once_more() -> None:
    """A board that starts with its output on and takes no off: its mark said "watches", then was gone."""

    class ComesOn(Recording):
        def _take(self, s: Snapshot) -> None:
            super()._take(s)
            oven_io = self.heat.runner.heat.station.oven_io
            if s.state == "stopped" and s.elapsed_s >= self.for_s + 5.0 and oven_io.off():
                scan = oven_io.scan
                oven_io.scan = lambda at_s: replace(scan(at_s), heat_on=True)  # type: ignore[method-assign]
                oven_io.off = lambda: False  # type: ignore[method-assign]

    ComesOn(heats=True, for_s=900.0)
    assert [found.heats for found in running_ovens.marks()] == [True]
