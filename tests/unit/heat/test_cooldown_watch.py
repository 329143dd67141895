"""The watch over an oven after its heat, on a simulated board: what ends it, and what it tells."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.heat import cooldown_watch
from kilnctl.heat.cooldown_watch import AfterHeat
from kilnctl.heat.heat_state import Heat
from kilnctl.heat.job import Job
from kilnctl.heat.runner import Runner
from kilnctl.heat.telling.snapshot_builder import HOT_C, snapshot
from kilnctl.link.snapshot import Command, Snapshot
from kilnctl.logbook.entries import LatchChange, read
from kilnctl.logbook.readers import Reader
from kilnctl.marks import hot_ovens as hot
from kilnctl.processes.oven_thread import Hosted
from kilnctl.readings import Quality, Reading, Scan, Trip
from kilnctl.rehearsal.dry_run import Rehearsal, parse_faults, rehearse
from kilnctl.treatment.planning import soak_job

pytestmark = pytest.mark.usefixtures("own_home")

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
SOAK_C = 110.0
OFF_S = 900.0  # of the heat: well in the soak
Act = Callable[["Watched", Snapshot], object]


class Watched:
    """A heat that a person ends with off in its soak, and the pictures of it and of what comes after."""

    def __init__(self, act: Act = lambda _heat, _s: None, *faults: str, oven: Oven = OVEN) -> None:
        self.act = act
        self.seen: list[Snapshot] = []
        self.told: list[Trip] = []
        job = Job(soak_job(SOAK_C, 7200.0, oven).model_copy(update={"section_mm": 6.0}))
        self.heat: Rehearsal = rehearse(oven, job, faults=parse_faults(faults))
        station = replace(self.heat.station, latch_trip=self.told.append)
        self.heat.runner.heat = replace(self.heat.runner.heat, station=station)
        self.hosted = Hosted(self.heat.runner, self.heat.clock, self._take)
        self.heat.runner.on_tick = self.hosted.publish
        hot.sign(hot.Hot(oven.name, "2026-01-01T00:00:00+00:00", 1))  # as before every heat

    def _take(self, s: Snapshot) -> None:
        self.seen.append(s)
        if s.elapsed_s >= OFF_S and self.hosted.busy:
            self.hosted.off("off by a test")
        self.act(self, s)

    def go(self) -> "Watched":
        self.hosted.start()
        self.hosted._thread.join(120.0)
        in_time = not self.hosted.alive
        self.hosted.join(60.0)
        assert in_time
        return self

    @property
    def after(self) -> list[Snapshot]:
        return [s for s in self.seen if s.state not in ("running", "held")]


def test_after_off_a_hot_oven_is_watched_until_it_is_cold() -> None:
    heat = Watched().go()
    after = heat.after
    assert after[0].word == "off but hot"
    assert after[0].process_c is not None
    assert after[0].process_c > SOAK_C - 10.0
    assert {s.word for s in after if (s.process_c or 0.0) > HOT_C} == {"off but hot"}
    assert (after[-1].word, after[-1].left) == ("cold", True)
    assert after[-1].elapsed_s > after[0].elapsed_s + 600.0, "the curve goes on"
    assert [s.left for s in after[:-1]] == [False] * (len(after) - 1)
    assert {s.heat_on for s in after[1:]} == {False}
    assert heat.seen[-len(after) - 1].part_c is not None
    assert len({s.closures_per_h for s in after[1:]}) == 1
    assert after[-1].closures_per_h > 0.0
    assert {s.part_c for s in after} == {None}, "nobody estimates the part any more"
    assert hot.signed() == []
    assert heat.hosted.status()["holds"] is False
    assert not heat.hosted.command(Command("answer")).accepted
    assert heat.hosted.command(Command("acknowledge")).accepted


def test_another_off_is_read_back_anew_and_does_not_end_the_watch() -> None:
    """A hand that shakes presses twice."""
    answers: list[bool] = []

    def again(heat: Watched, s: Snapshot) -> None:
        if not heat.hosted.busy and s.process_c is not None and s.process_c > 90.0:
            heat.hosted.off("off by a test")
            answers.append(heat.hosted.wait_off(0.0))

    heat = Watched(again).go()
    assert len(answers) > 10
    assert all(answers)
    assert heat.after[-1].word == "cold"


def test_a_sensor_that_stays_bad_on_a_hot_oven_does_not_end_the_watch() -> None:
    """It is let go by a command that needs the port, and the sign stays."""
    blind: list[Snapshot] = []

    def leave(heat: Watched, s: Snapshot) -> None:
        if s.quality == Quality.OPEN and not heat.hosted.busy:
            blind.append(s)
            if len(blind) == 500:
                heat.hosted.let_go()

    Watched(leave, f"sensor-open@{OFF_S + 30:.0f}s").go()
    assert len(blind) >= 500
    assert {s.word for s in blind} == {"off but hot"}
    (sign,) = hot.signed()
    assert sign.at_c is not None
    assert sign.at_c > SOAK_C - 20.0
    assert sign.run == 1


def test_a_sensor_that_comes_back_shows_the_oven_cold_and_takes_the_sign_away() -> None:
    heat = Watched(lambda *_: None, f"sensor-open@{OFF_S + 30:.0f}s~2h").go()
    assert heat.after[-1].word == "cold"
    assert hot.signed() == []


@pytest.mark.parametrize(
    ("contact", "kind", "risen_k"), [(True, "heat_without_demand", 5.0), (False, "rising_while_off", 90.0)]
)
def test_switches_that_weld_as_the_heat_ends_trip_and_latch_although_it_is_over(
    contact: bool, kind: str, risen_k: float
) -> None:
    """Both of them, with and without a contact at the element; only the wall switch helps now."""

    def leave(heat: Watched, s: Snapshot) -> None:
        if s.trip and not heat.hosted.busy:
            heat.hosted.let_go()

    signal = OVEN.signal if contact else OVEN.signal.model_copy(update={"heater_live": None})
    oven = OVEN.model_copy(update={"signal": signal})
    faults = (f"relay-welded@{OFF_S - 2:.0f}s", f"contactor-welded@{OFF_S - 2:.0f}s")
    heat = Watched(leave, *faults, oven=oven).go()
    last = heat.after[-1]
    assert (last.state, last.word, last.trip_kind) == ("tripped", "tripped", kind)
    assert [(a.kind, a.priority) for a in last.alarms if a.first_out] == [(kind, "urgent")]
    assert [trip.kind for trip in heat.told] == [kind]
    assert heat.hosted.status()["summary"]["heat_off_confirmed"] is False  # whatever the relays read
    assert last.process_c is not None
    if not contact:  # found after the end, which closes the run: an entry beside it
        (kept,) = read(Reader(heat.heat.runner.heat.recorder.book.connection), LatchChange, run=1)
        assert (kept.change, kept.trip_kind) == ("trip, after the end", kind)
    assert last.process_c < SOAK_C + risen_k


def test_the_horn_of_a_trip_goes_on_after_the_end_until_somebody_has_heard_it() -> None:
    """Nobody drove it any more after the run: it stood as the last tick had left it."""
    horn: list[bool] = []

    def hear(heat: Watched, s: Snapshot) -> None:
        if heat.hosted.busy or s.left:
            return
        horn.append(bool(heat.heat.board.get("coil", 2)))
        if len(horn) == 60:
            assert heat.hosted.command(Command("acknowledge")).accepted

    heat = Watched(hear, f"sensor-open@{OFF_S - 60:.0f}s~120s").go()
    assert heat.after[0].word == "tripped"
    assert 40 <= sum(horn[:60]) < 60, "five ticks in six"
    assert len(horn) > 100
    assert not any(horn[61:])
    assert [heat.heat.board.get("coil", register) for register in (2, 3)] == [0, 0]


def look(c: float | None, at_s: float, **more: bool) -> Scan:
    process = Reading.bad(Quality.OPEN, "open", at_s) if c is None else Reading.of(c, at_s)
    return Scan(at_s, process, more.pop("heat_on", False), **more)  # type: ignore[arg-type]


def seen(*readings: float | None, newest_c: float | None = 400.0, step_s: float = 1.0) -> AfterHeat:
    known = AfterHeat(0.0, newest_c, newest_c, 0.0)
    for i, c in enumerate(readings, 1):
        known = known.see(look(c, i * step_s))
    return known


@pytest.mark.parametrize(
    ("known", "off", "over"),
    [
        (seen(49.9), True, True),
        (seen(50.0), True, False),
        (seen(49.9), False, False),  # cold, but nobody has read off back
        (seen(*[None] * 100), True, False),
        (seen(*[None] * 9, newest_c=30.0), True, False),
        (seen(*[None] * 10, newest_c=30.0), True, True),
        (seen(*[None] * 100, newest_c=None), True, False),  # never read: it may be hot
    ],
)
def test_when_the_watch_is_over(known: AfterHeat, off: bool, over: bool) -> None:
    assert known.over(off, now_s=100.0) is over


def test_a_day_without_a_reading_ends_it() -> None:
    assert not seen(None).over(True, cooldown_watch.BLIND_S)
    assert seen(None).over(True, cooldown_watch.BLIND_S + 1.0)


@pytest.mark.parametrize(("more_k", "rises"), [(9.9, False), (10.1, True)])
def test_an_oven_whose_coast_is_known_to_be_over_gets_no_hotter(more_k: float, rises: bool) -> None:
    """Seed 230464: half a relay behind a welded contactor warmed a small oven by 32 K before it was said."""
    known = AfterHeat(0.0, 138.0, 138.0, 0.0, coast_k=32.0, coast_s=180.0)
    for at_s in range(1, 400):
        known = known.see(look(138.0 + min(at_s / 12.0, 15.0) + (more_k if at_s > 390 else 0.0), float(at_s)))
    assert known.still_on is rises


@pytest.mark.parametrize(
    ("readings", "kind"),
    [
        ((430.0, 440.0, 460.0, 455.0), ""),  # within the coast: 100, 200, 300 s
        ((460.1,), "over_temperature"),  # the oven's limit counts at once
        ((430.0, 430.0, 430.0, 444.9, 444.9, 444.9), ""),
        ((430.0, 430.0, 430.0, 445.1, 445.1, 445.1), "rising_while_off"),
        ((430.0, 430.0, 430.0, 455.0, 430.0, 455.0, 455.0), ""),  # a wire that spikes
        ((430.0, 455.0, 430.0, 446.0, 446.0, 446.0), "rising_while_off"),  # a spike hides no rise
        ((300.0, 250.0, 260.0, 414.0), ""),  # a door was shut again
        ((430.0, 430.0, 430.0, 445.1, 445.1, 445.1, None), ""),  # what cannot be read rises nowhere
    ],
)
def test_hotter_than_heat_and_coast_is_a_trip(readings: tuple[float | None, ...], kind: str) -> None:
    found = seen(*readings, step_s=100.0).findings(400.0, 460.0)
    assert [trip.kind for trip in found[:1]] == [kind] * bool(kind)


def test_an_output_that_reads_on_twice_is_a_trip_even_without_a_reading() -> None:
    known = seen().see(look(None, 1.0, heat_on=True))
    assert known.findings(1.0, 460.0) == ()
    for on in ({"heat_on": True}, {"heater_live": True}):
        found = known.see(look(None, 2.0, **on)).findings(2.0, 460.0)
        assert [trip.kind for trip in found] == ["heat_without_demand"]
    assert known.see(look(None, 2.0)).see(look(None, 3.0, heat_on=True)).findings(3.0, 460.0) == ()


def test_a_board_that_makes_the_duty_itself_may_end_its_pulse() -> None:
    pulse = replace(seen(), may_live_s=20.0)
    for at_s in range(1, 21):
        pulse = pulse.see(look(None, float(at_s), heater_live=True))
    assert pulse.findings(20.0, 460.0) == ()
    for at_s in (21.0, 22.0):
        pulse = pulse.see(look(None, at_s, heater_live=True))
    assert [trip.kind for trip in pulse.findings(22.0, 460.0)] == ["heat_without_demand"]


def test_off_that_was_read_back_once_is_known_and_what_comes_later_is_the_wire() -> None:
    once, never = seen(), seen()
    for at_s in (1.0, 2.0, 3.0, 4.0):
        once = once.see(look(30.0, at_s), off=at_s == 1.0)
        never = never.see(look(30.0, at_s), off=False)
    assert once.findings(4.0, 460.0) == ()
    assert [(trip.kind, trip.reset) for trip in never.findings(4.0, 460.0)] == [("off_not_read", "C")]


def test_a_learned_oven_is_known_to_coast_no_further() -> None:
    known = replace(seen(), coast_k=30.0).see(look(400.0, 1.0))
    assert known.see(look(429.0, 60.0)).findings(60.0, 460.0) == ()
    for at_s in (60.0, 61.0, 62.0):
        known = known.see(look(431.0, at_s))
    assert [t.kind for t in known.findings(62.0, 460.0)] == ["rising_while_off"]


def test_a_recording_of_a_hot_oven_says_that_it_is_hot_and_claims_no_heat_nor_plan() -> None:
    """After a restart this is the way to watch an oven that somebody else has left hot."""

    def off_in_the_soak(runner: Runner) -> None:
        if runner.now.segment_kind == "soak":
            runner.off()

    heat = rehearse(OVEN, Job(soak_job(90.0, 600.0, OVEN)), on_tick=off_in_the_soak)
    heat.run()
    recording = Job(soak_job(20.0, 600.0, OVEN), record_only=True)
    runner = Runner(Heat(heat.station, recording, heat.runner.heat.recorder, heat.clock))
    runner.tick(heat.clock.now_s())
    s = snapshot(runner.heat, runner.now, 1)
    assert (s.state, s.word, s.profile) == ("running", "off but hot", "recording only")
    assert (s.goal_c, s.segments, s.segment, s.total_left_s, s.end_utc) == (None, (), None, None, "")
    assert s.next_words == "recording until off; nothing is heated"
    assert s.process_c is not None
    assert s.process_c > HOT_C
