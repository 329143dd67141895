"""The runner tick by tick, on I/O, interlocks and a controller that are played: what is done, and in order.

`test_runner.py` shows whole heats on a simulated oven; here every bound of the tick is held from both sides.
"""

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

import pytest

from kilnctl.care.calibration import Correction
from kilnctl.clock import VirtualClock
from kilnctl.config.home import bundled
from kilnctl.config.oven import Oven, load_oven
from kilnctl.control.control_io import ControlInput, ControlOutput
from kilnctl.devices.interfaces import HeatRequest
from kilnctl.errors import ProfileError
from kilnctl.heat import trip_record
from kilnctl.heat.heat_state import Heat
from kilnctl.heat.job import Job, Outcome
from kilnctl.heat.runner import Runner
from kilnctl.heat.station import Station
from kilnctl.interlocks import Thresholds
from kilnctl.interlocks.sensor_frozen import SensorFrozen
from kilnctl.link.snapshot import Command
from kilnctl.logbook.readers import Reader
from kilnctl.logbook.recorder import Recorder
from kilnctl.logbook.records import RunHeader
from kilnctl.logbook.writer import Event, Logbook
from kilnctl.model.part import part_of
from kilnctl.profile.segments import Profile
from kilnctl.readings import Alarm, Neighbour, Observation, Priority, Quality, Reaction, Reading, Scan, Trip
from kilnctl.tomlfile import loads

OVEN = load_oven(bundled("ovens") / "tempering-oven.toml")
HOLD = """
name = "hold (invented)"
[[segment]]
kind = "soak"
at = "60 C"
time = "2min"
band = "60 K"
"""
STEP = """
[[segment]]
kind = "operator"
step = "unload"
say = "take the part out"
hold = "60 C"
at_most = "10min"
"""
COOL = """
[[segment]]
kind = "cool"
to = "30 C"
at_most = "1min"
"""


class PlayedIO:
    """Played I/O: what was done, in order; what the scan shows; what fails."""

    def __init__(self, clock: VirtualClock) -> None:
        self.done: list[str] = []
        self.requests: list[HeatRequest] = []
        self.sounds: list[tuple[bool, bool]] = []
        self.at_c: Callable[[float], float | None] = lambda _: 60.0
        self.more: dict[str, Any] = {}
        self.drives = self.feeds = self.goes_off = True
        self._clock = clock
        self._heat_on = False

    def connect(self) -> None: ...

    def close(self) -> None: ...

    def off(self) -> bool:
        self.done.append("off")
        self._heat_on = False
        return self.goes_off

    def scan(self, at_s: float) -> Scan:
        self.done.append("scan")
        value = self.at_c(at_s)
        process = Reading.bad(Quality.OPEN, "open", at_s) if value is None else Reading.of(value, at_s)
        return Scan(at_s, process, self._heat_on, **self.more)

    def drive(self, request: HeatRequest) -> bool:
        self.done.append("drive")
        self.requests.append(request)
        self._heat_on = request.on
        return self.drives

    def feed(self) -> bool:
        self.done.append("feed")
        return self.feeds

    def sound(self, horn: bool, lamp: bool) -> str:
        self.sounds.append((horn, lamp))
        return ""


class Judge:
    """An interlock that says at each second what it is told to say, and keeps what it was shown."""

    kind = label = "judge"

    def __init__(self) -> None:
        self.seen: list[Observation] = []
        self.says: dict[int, Trip | Alarm] = {}

    def check(self, seen: Observation) -> Trip | Alarm | None:
        self.seen.append(seen)
        return self.says.get(round(seen.at_s))

    def distance(self) -> Any: ...


class Steady:
    """A controller that asks for full heat; `says` changes its answer at a second."""

    def __init__(self) -> None:
        self.seen: list[ControlInput] = []
        self.duty = 1.0
        self.says: dict[int, dict[str, Any]] = {}

    def step(self, seen: ControlInput) -> ControlOutput:
        self.seen.append(seen)
        more = self.says.get(round(seen.at_s), {})
        return replace(ControlOutput(self.duty if seen.heat_wanted else 0.0, "steady"), **more)


class Bench:
    """A runner whose every neighbour is played. Ticks come at 0, 1, 2 ... seconds."""

    def __init__(self, text: str = HOLD, oven: Oven = OVEN, **job: Any) -> None:
        self.clock: VirtualClock = job.pop("clock", None) or VirtualClock()
        self.oven_io, self.judge, self.control = PlayedIO(self.clock), Judge(), Steady()
        self.latched: list[Trip] = []
        self.released = 0
        self.book = Logbook(None)
        run = self.book.start_run(RunHeader("o", "", "", "p", 0.0, period_s=1.0))
        self.recorder = Recorder(self.book, run, self.clock, threaded=False)
        self.profile = loads(text, Profile, ProfileError, "test.toml")
        self.station = Station(
            oven,
            self.oven_io,
            self.control,  # type: ignore[arg-type]
            (self.judge, *job.pop("interlocks", ())),
            latch_trip=self.latched.append,
            release_latch=self._release,
            corrections=job.pop("corrections", {}),
            part_model=part_of(self.profile),
        )
        self.act: dict[int, Callable[[], Any]] = {}
        self.answers: list[Any] = []
        heat = Heat(self.station, Job(self.profile, **job), self.recorder, self.clock, run)
        self.runner = Runner(heat, on_tick=self._ticked)

    def _release(self) -> None:
        self.released += 1

    def _ticked(self, runner: Runner) -> None:
        act = self.act.get(round(runner.now.elapsed_s))
        if act is not None:
            self.answers.append(act())

    def run(self) -> Outcome:
        return self.runner.run()

    def say(self, word: str, **args: Any) -> Callable[[], Any]:
        return lambda: self.runner.command(Command(word, args=args, who="bench"))

    def events(self, *kinds: str) -> list[Event]:
        run = self.runner.heat.run_id
        assert run is not None
        return [e for e in Reader(self.book.connection).events(run) if e.kind in kinds]

    def heated(self) -> list[int]:
        """Return the ticks in which heat was asked of the I/O."""
        return [n for n, request in enumerate(self.oven_io.requests) if request.on]


def test_a_tick_reads_judges_drives_and_feeds_in_this_order_and_the_end_is_off() -> None:
    bench = Bench()
    outcome = bench.run()
    assert outcome.outcome == "complete"
    assert bench.oven_io.done == ["scan", "drive", "feed"] * 120 + ["scan", "drive", "off"]
    assert bench.released == 1


def test_the_first_heat_comes_after_the_first_whole_tick() -> None:
    bench = Bench()
    bench.run()
    assert bench.heated() == list(range(1, 120))


@pytest.mark.parametrize("fails", ["drives", "feeds"])
def test_a_tick_that_was_not_whole_is_followed_by_one_without_heat(fails: str) -> None:
    bench = Bench()
    bench.act = {
        9: lambda: setattr(bench.oven_io, fails, False),
        12: lambda: setattr(bench.oven_io, fails, True),
    }
    bench.run()
    # ticks 10, 11 and 12 fail; the first one still asked, on the word of the tick before it
    assert [n for n in range(1, 120) if n not in bench.heated()] == [11, 12, 13]


def test_a_tick_that_did_not_drive_is_not_fed() -> None:
    bench = Bench()
    bench.oven_io.drives = False
    bench.act = {5: bench.runner.off}
    bench.run()
    assert "feed" not in bench.oven_io.done


def test_a_bad_reading_takes_heat_and_feed_away_in_the_same_tick() -> None:
    bench = Bench()
    bench.oven_io.at_c = lambda s: None if 20 <= s < 23 else 60.0
    bench.run()
    assert [n for n in range(1, 126) if n not in bench.heated()] == [20, 21, 22, 23, 123, 124, 125]
    assert len(bench.control.seen) == bench.oven_io.done.count("scan") - 3
    assert bench.oven_io.done.count("feed") == bench.oven_io.done.count("scan") - 4


SMOKE = Trip("smoke", "in the shop", 0.0)
LATER = Trip("supply", "supply low", 0.0)


def test_a_trip_cuts_at_once_records_ten_ticks_more_and_keeps_its_latch() -> None:
    bench = Bench()
    bench.judge.says = {30: SMOKE, 31: LATER}
    outcome = bench.run()
    assert (outcome.outcome, outcome.cause, outcome.exit_code) == ("tripped", "Smoke: in the shop", 4)
    assert bench.latched == [replace(SMOKE, reason="Smoke: in the shop")]
    assert bench.released == 0
    assert [e.text for e in bench.events("trip")] == ["Smoke: in the shop"]
    # 30 ticks as ever; in the 31st off comes after the look and nothing is driven or fed any more
    assert bench.oven_io.done[:93] == ["scan", "drive", "feed"] * 30 + ["scan", "off", "off"]
    assert bench.oven_io.done[93:] == ["scan", "off"] * 9 + ["off"]


def test_an_open_door_holds_the_heat_off_and_stops_the_plan() -> None:
    bench = Bench()
    bench.act = {20: lambda: bench.oven_io.more.update(door_open=True), 40: bench.oven_io.more.clear}
    assert bench.run().outcome == "complete"
    # the look of second 21 shows it: an off, and no drive, so that the drives after it count one less; the
    # tick after the door has shut feeds again, the next one heats
    assert [n for n in range(1, 120) if n not in bench.heated()] == list(range(21, 41))
    ticks = [tick.split() for tick in " ".join(bench.oven_io.done).split("scan")[1:]]
    assert [second for second in range(1, 60) if "off" in ticks[second]] == [21]
    assert {seen.heating_allowed for seen in bench.judge.seen[22:41]} == {False}
    assert {seen.door_open for seen in bench.control.seen[21:41]} == {True}


def test_an_open_door_drops_a_closed_contactor_in_the_same_tick_and_once() -> None:
    """Tongs may touch a live element: no relay that leaks stays connected until the dead-man lapses."""
    bench = Bench()
    bench.act = {
        20: lambda: bench.oven_io.more.update(door_open=True, contactor_on=True),
        21: lambda: bench.oven_io.more.update(contactor_on=False),
        40: bench.oven_io.more.clear,
    }
    assert bench.run().outcome == "complete"
    ticks = [tick.split() for tick in " ".join(bench.oven_io.done).split("scan")[1:]]
    assert [second for second in range(1, 60) if "off" in ticks[second]] == [21]
    assert ticks[21] == ["off"]


def test_what_only_tells_does_not_stop_the_heat() -> None:
    bench = Bench()
    bench.judge.says = {30: replace(SMOKE, reaction=Reaction.NOTIFY), 60: Alarm("door", "door open", 0.0)}
    assert bench.run().outcome == "complete"
    assert bench.latched == []
    assert [(e.text, e.data["alarm_kind"]) for e in bench.events("alarm")] == [
        ("Smoke: in the shop", "smoke"),
        ("door open", "door"),
    ]


def test_an_alarm_is_told_once_while_it_lasts() -> None:
    bench = Bench()
    bench.judge.says = {second: Alarm("door", "door open", 0.0) for second in range(30, 60)}
    bench.run()
    assert len(bench.events("alarm")) == 1


def test_what_the_interlocks_are_shown() -> None:
    bench = Bench(unattended=True)
    bench.runner.others = lambda: {"right": Neighbour(1.5, 0.25)}
    bench.control.says = {40: {"unexplained": 0.2}}
    bench.run()
    first, later = bench.judge.seen[0], bench.judge.seen[41]
    assert (first.at_s, first.dt_s, first.real_dt_s, first.late_s) == (0.0, 0.0, 0.0, 0.0)
    assert (later.at_s, later.dt_s, later.real_dt_s, later.late_s) == (41.0, 1.0, 1.0, 0.0)
    assert (first.heat_asked, first.duty_asked) == (False, 0.0)
    assert (later.heat_asked, later.duty_asked, later.heating_allowed) == (True, 1.0, True)
    assert later.unexplained == 0.2
    assert (later.setpoint_c, later.segment_kind, later.run_max_c) == (60.0, "soak", 60.0)
    assert (later.limit_c, later.ambient_c) == (OVEN.limit_c, OVEN.ambient_c)
    assert (later.unattended, later.others, later.suspended_s) == (True, {"right": Neighbour(1.5, 0.25)}, 0.0)


def test_a_run_that_only_records_has_no_plan_to_be_above_and_asks_for_nothing() -> None:
    bench = Bench(record_only=True)
    bench.act = {300: lambda: bench.runner.off("enough")}
    assert bench.run().outcome == "stopped"
    assert {seen.run_max_c for seen in bench.judge.seen} == {None}
    assert bench.heated() == []
    assert "feed" not in bench.oven_io.done


def test_a_sleep_of_the_computer_is_seen_by_the_clock_that_counts_it() -> None:
    bench = Bench()
    bench.act = {20: lambda: setattr(bench.clock, "suspended_s", 7.0)}
    bench.run()
    assert [bench.judge.seen[n].suspended_s for n in (20, 21, 22)] == [0.0, 7.0, 7.0]
    assert {round(seen.wall_step_s, 3) for seen in bench.judge.seen} == {0.0}  # nobody has set a clock


class Slow(VirtualClock):
    """A computer that wakes up late once."""

    def wait_until(self, deadline_s: float, stop: Any) -> bool:
        return super().wait_until(deadline_s + 6.4 * (deadline_s == 21.0), stop)


def test_a_late_tick_is_shown_as_late_and_the_missed_ones_are_not_made_up_for() -> None:
    bench = Bench(clock=Slow())
    bench.run()
    late = bench.judge.seen[21]
    assert (late.at_s, late.dt_s, late.real_dt_s, late.late_s) == pytest.approx((27.4, 7.4, 7.4, 6.4))
    assert [seen.late_s for seen in bench.judge.seen[22:24]] == [0.0, 0.0]
    assert bench.judge.seen[23].at_s == pytest.approx(28.4)


def test_after_a_tick_that_stood_still_the_next_comes_at_once_and_the_missed_ones_not_at_all() -> None:
    bench = Bench()
    bench.act = {20: lambda: bench.clock.advance(7.4)}
    bench.run()
    assert [seen.at_s for seen in bench.judge.seen[20:23]] == pytest.approx([20.0, 27.4, 28.4])
    assert bench.judge.seen[21].dt_s == pytest.approx(7.4)


def test_a_wall_clock_that_is_set_is_told_once_and_changes_no_time() -> None:
    bench = Bench(clock=Set())
    bench.run()
    steps_s = [seen.wall_step_s for seen in bench.judge.seen]
    assert steps_s[50] == pytest.approx(-3600.0)
    assert [s for n, s in enumerate(steps_s) if n != 50] == pytest.approx([0.0] * (len(steps_s) - 1))
    assert {seen.dt_s for seen in bench.judge.seen[1:]} == {1.0}


class Set(VirtualClock):
    """A wall clock that is put back by an hour in the middle."""

    def utc_s(self) -> float:
        return super().utc_s() - (3600.0 if self.now_s() >= 50.0 else 0.0)


def test_a_supervisor_that_no_longer_listens_is_shown() -> None:
    bench = Bench()
    bench.act = {20: lambda: setattr(bench.runner, "supervisor_age_s", 11.0)}
    bench.run()
    assert [bench.judge.seen[n].supervisor_age_s for n in (20, 21)] == [0.0, 11.0]


def test_a_tick_that_takes_long_is_followed_by_the_next_whole_second() -> None:
    bench = Bench()
    bench.act = {20: lambda: bench.clock.advance(0.4)}
    bench.run()
    assert [bench.judge.seen[n].at_s for n in (20, 21, 22)] == [20.0, 21.0, 22.0]


class Nudging(SensorFrozen):
    """A sensor that stands still, as its interlock sees it: it wants the heat nudged one way."""

    def __init__(self, way: int) -> None:
        super().__init__(OVEN, Thresholds.of(OVEN))
        self.way = way

    @property
    def dither(self) -> int:
        return self.way


@pytest.mark.parametrize(
    ("way", "asked", "given"),
    [(1, 0.5, 0.55), (-1, 0.5, 0.45), (0, 0.5, 0.5), (1, 0.98, 1.0), (-1, 0.02, 0.0)],
)
def test_the_duty_is_nudged_by_a_twentieth_and_stays_within_its_range(
    way: int, asked: float, given: float
) -> None:
    bench = Bench(interlocks=(Nudging(way),))
    bench.control.duty = asked
    bench.run()
    assert {round(request.duty, 9) for request in bench.oven_io.requests[1:-1]} == {given}
    assert {seen.dither for seen in bench.judge.seen[1:]} == {way}


def test_energy_is_the_heat_that_was_read_back_over_its_seconds() -> None:
    bench = Bench()
    outcome = bench.run()
    # on from tick 1 to 119: the scans of ticks 2 to 120 find it on, each for the second before it
    assert outcome.summary["energy_kwh"] == pytest.approx(OVEN.power_w * 119 / 3.6e6, abs=1e-4)


def test_corrections_are_applied_before_anybody_looks() -> None:
    bench = Bench(corrections={"process": Correction(1.0, -2.5)})
    bench.run()
    assert {seen.scan.process.value for seen in bench.judge.seen} == {57.5}
    assert {seen.process_c for seen in bench.control.seen} == {57.5}


def test_the_heat_ends_where_the_controller_wants_no_more() -> None:
    for ending, outcome in (("complete", "complete"), ("no answer", "stopped")):
        bench = Bench()
        bench.control.says = {40: {"ending": ending}}
        assert bench.run().outcome == outcome
        assert bench.runner.now.cause == ("" if ending == "complete" else "no answer")
        assert not bench.oven_io.requests[-1].on
        assert [e.text for e in bench.events("controller")] == [ending]


def test_what_the_controller_finds_of_the_oven_is_an_alarm_for_later_and_one_event() -> None:
    bench = Bench()
    bench.control.says = {second: {"note": "its sensor answers slowly"} for second in range(40, 50)}
    bench.run()
    assert [e.text for e in bench.events("oven")] == ["its sensor answers slowly"]
    assert [e.data["alarm_kind"] for e in bench.events("alarm")] == ["oven_changed"]
    assert [alarm.priority for alarm in bench.runner.now.alarms.shown()] == [Priority.LATER]


# --- a person ---


def test_off_names_who_asked_first() -> None:
    bench = Bench()
    bench.act = {20: bench.say("off"), 21: lambda: bench.runner.off("too late")}
    outcome = bench.run()
    assert (outcome.outcome, outcome.cause, outcome.exit_code) == ("stopped", "off by bench", 5)
    assert bench.answers[0].accepted
    assert [e.text for e in bench.events("off")] == ["off by bench"]
    twice = Bench()
    twice.act = {20: lambda: (twice.runner.off("first"), twice.runner.off("second"))}
    assert twice.run().cause == "first"
    nobody = Bench()
    nobody.act = {20: lambda: nobody.runner.command(Command("off"))}
    assert nobody.run().cause == "off by a person"


def test_a_door_opened_in_the_wait_ends_it_and_that_is_written_down() -> None:
    bench = Bench(wait_s=60.0)
    bench.act = {20: lambda: bench.oven_io.more.update(door_open=True)}
    assert bench.run().outcome == "stopped"
    assert [e.text for e in bench.events("off")] == ["the door was opened while the heat waited to start"]
    assert bench.heated() == []


def test_off_is_sent_before_the_next_look() -> None:
    bench = Bench()
    bench.act = {20: bench.say("off")}
    bench.run()
    assert bench.oven_io.done[63:] == ["off", "scan", "drive", "off"]
    assert not bench.oven_io.requests[-1].on


def test_off_after_a_trip_leaves_the_cause() -> None:
    bench = Bench()
    bench.judge.says = {30: SMOKE}
    bench.act = {33: bench.say("off")}
    outcome = bench.run()
    assert (outcome.outcome, outcome.cause) == ("tripped", "Smoke: in the shop")
    assert bench.events("off") == []


def test_what_a_running_heat_does_not_take() -> None:
    bench = Bench()
    bench.act = {20: bench.say("answer", reply="done"), 21: bench.say("dance")}
    bench.run()
    assert [(a.accepted, a.why) for a in bench.answers] == [
        (False, "no step is waiting for an answer"),
        (False, 'a running heat does not take "dance"'),
    ]
    assert bench.events("answer", "dance") == []


def test_a_mark_is_written_down_with_its_words() -> None:
    bench = Bench()
    bench.act = {20: bench.say("mark", mark="in the oil")}
    bench.run()
    assert [(e.text, e.data) for e in bench.events("mark")] == [("bench", {"mark": "in the oil"})]


def test_on_to_the_next_segment_and_over_the_last() -> None:
    bench = Bench(HOLD + STEP)
    bench.act = {20: bench.say("adjust", what="next"), 30: bench.say("adjust", what="next")}
    assert bench.run().outcome == "complete"
    assert [e.text for e in bench.events("segment")] == ["soak over", "operator over"]
    assert bench.runner.now.elapsed_s < 35.0


def test_of_two_orders_in_one_tick_the_second_is_judged_after_the_first() -> None:
    bench = Bench()

    def twice() -> None:
        for by_s in (60.0, 60.0):
            bench.say("adjust", what="longer", by_s=by_s)()
        bench.say("adjust", what="next")()
        bench.say("adjust", what="longer", by_s=60.0)()  # right when asked, too late when it comes to be done

    bench.act = {20: twice}
    assert bench.run().outcome == "complete"
    assert bench.runner.now.elapsed_s == 21.0


def test_a_soak_made_longer_is_longer() -> None:
    bench = Bench()
    bench.act = {20: bench.say("adjust", what="longer", by_s=60.0)}
    bench.run()
    assert bench.runner.now.elapsed_s == 180.0


def test_an_alarm_that_became_a_trip_since_it_was_asked_is_not_shelved() -> None:
    bench = Bench()
    bench.judge.says = {n: Alarm("smoke", "a little smoke", 0.0) for n in range(20, 30)} | {30: SMOKE}

    def shelve() -> Any:
        return bench.say("shelve", kind="smoke", for_s=600.0)()

    bench.act = {29: shelve, 31: shelve}
    bench.run()
    assert [a.accepted for a in bench.answers] == [True, False]
    shown = bench.runner.now.alarms.shown()[0]
    assert shown.latched


@pytest.mark.parametrize(
    ("ending", "text", "outcome", "words"),
    [
        ("not reached", HOLD + COOL, "ended_early", "did not cool to the goal"),
        ("not answered", HOLD + STEP, "ended_early", 'nobody confirmed "'),
    ],
)
def test_a_profile_that_ends_early_says_why(ending: str, text: str, outcome: str, words: str) -> None:
    bench = Bench(text)
    ended = bench.run()
    assert (ended.outcome, ended.exit_code) == (outcome, 7)
    assert words in ended.cause


def test_a_soak_out_of_its_band_ends_as_not_reached_and_credits_nothing() -> None:
    bench = Bench(HOLD + 'at_most = "5min"\n')
    bench.oven_io.at_c = lambda _: 130.0
    ended = bench.run()
    assert ended.outcome == "ended_early"
    assert "was not completed within 5 min" in ended.cause
    assert [line["soak_credited_s"] for line in ended.summary["segments"]] == [0.0]


def test_a_soak_that_a_person_ends_early_is_credited_what_it_had() -> None:
    bench = Bench(HOLD + STEP)
    bench.act = {40: bench.say("adjust", what="next"), 50: bench.say("answer", reply="done")}
    ended = bench.run()
    assert ended.outcome == "complete"
    assert [line["soak_credited_s"] for line in ended.summary["segments"]] == [
        pytest.approx(40.0, abs=1.0),
        0.0,
    ]
    whole = Bench().run()
    assert whole.summary["segments"][0]["soak_credited_s"] == 120.0


def test_a_soak_is_credited_by_its_own_clock() -> None:
    thick = HOLD.replace('band = "60 K"', 'band = "5 K"\nclock = "part"')
    thick = thick.replace('name = "hold (invented)"', 'name = "thick"\nsection = "25 mm"')
    bench = Bench(thick)
    bench.act = {110: bench.runner.off}
    ended = bench.run()
    assert bench.runner.now.cursor.soak_oven_s > 100.0  # the air is there, the part is not
    assert ended.summary["segments"][0]["soak_credited_s"] == bench.runner.now.cursor.soak_part_s == 0.0


def test_a_sensor_at_the_part_counts_before_any_estimate_of_it() -> None:
    thick = HOLD.replace('name = "hold (invented)"', 'name = "thick"\nsection = "25 mm"')
    bench = Bench(thick)
    for load, part_c in ((Reading.of(41.5, 0.0), 41.5), (Reading.bad(Quality.OPEN, "open", 0.0), None)):
        bench.oven_io.more = {"load": load}
        bench.clock.advance(1.0)
        bench.runner.tick(bench.clock.now_s())
        assert (bench.runner.now.part_c == part_c) is (part_c is not None)
    assert bench.runner.now.part_c == pytest.approx(20.0, abs=2.0)  # the estimate's core, still cold


def test_a_reading_of_nought_is_a_reading() -> None:
    bench = Bench()
    bench.oven_io.at_c = lambda _: 0.0
    bench.act = {5: bench.runner.off}
    bench.run()
    assert {seen.process_c for seen in bench.control.seen} == {0.0}
    assert bench.runner.now.totals.peak_c == 0.0


def test_the_part_is_looked_at_every_ten_ticks_for_the_record() -> None:
    bench = Bench()
    bench.oven_io.at_c = lambda s: None if s == 49.0 else 60.0 + s / 100.0
    bench.run()
    # the tenth tick comes at 9 s; without a reading and without an estimate there is nothing to note
    looks = [(look.at_s, look.part_c) for look in bench.runner._part_samples]
    assert looks == [(s, pytest.approx(60.0 + s / 100.0)) for s in range(9, 120, 10) if s != 49]


def test_a_segment_stands_in_the_record_with_its_goal_and_how_far_it_went() -> None:
    bench = Bench(HOLD + STEP)
    bench.oven_io.at_c = lambda s: 55.0 + min(s, 100.0) / 10.0 - (3.0 if s == 80.0 else 0.0)
    bench.act = {150: bench.say("answer", reply="done")}
    soak, step = bench.run().summary["segments"]
    # it touches the goal a kelvin below it, at 40 s; its band of 5 K counts from the first whole second on
    assert (soak["goal_c"], soak["started_s"], soak["reached_s"], soak["ended_s"]) == (60.0, 0.0, 40.0, 120.0)
    assert (soak["min_c"], soak["max_c"], soak["overshoot_k"]) == (55.1, 65.0, 5.0)
    assert (step["kind"], step["started_s"], step["overshoot_k"]) == ("operator", 120.0, None)


def test_a_segment_that_is_never_finished_stands_in_the_record_once() -> None:
    for bench in (Bench(HOLD + STEP), Bench(HOLD + COOL)):
        assert [line["index"] for line in bench.run().summary["segments"]] == [0, 1]


def test_a_step_that_is_aborted_is_stopped_by_a_person() -> None:
    bench = Bench(HOLD + STEP)
    bench.act = {130: bench.say("answer", reply="abort")}
    ended = bench.run()
    assert (ended.outcome, ended.cause) == ("stopped", "ended by a person at an operator step")


# --- horn and lamp ---


def test_an_oven_without_horn_or_lamp_is_told_nothing() -> None:
    outputs = OVEN.output.model_copy(update={"horn": None, "lamp": None})
    bench = Bench(HOLD + STEP, OVEN.model_copy(update={"output": outputs}))
    bench.act = {150: bench.say("answer", reply="done")}
    bench.run()
    assert bench.oven_io.sounds == []


def test_who_hears_the_horn_silences_this_call_and_not_the_next() -> None:
    bench = Bench(HOLD + STEP)
    rung: list[int] = []
    sound = bench.oven_io.sound

    def note(horn: bool, lamp: bool) -> None:
        sound(horn, lamp)
        if horn:
            rung.append(round(bench.runner.now.elapsed_s))

    bench.oven_io.sound = note  # type: ignore[method-assign]
    bench.act = {30: bench.say("acknowledge"), 300: bench.say("acknowledge")}
    bench.run()
    soon = [s for s in rung if s < 120]
    assert soon  # two minutes before the step that is to come
    assert max(soon) <= 31
    ready = [s for s in rung if 120 <= s < 420]
    assert ready  # the step itself calls anew
    assert max(ready) <= 301
    late = [s for s in rung if s >= 420]
    assert late  # and so does one that has waited for half of its time


def test_a_trip_is_called_and_a_board_that_forgot_is_told_again() -> None:
    bench = Bench(HOLD)
    bench.judge.says = {30: SMOKE}
    bench.run()
    # nothing to call: told at the start and every ten ticks after it
    assert bench.oven_io.sounds[:4] == [(False, False)] * 4
    assert (True, True) in bench.oven_io.sounds[4:]


# --- the end ---


def test_an_off_that_does_not_read_back_is_said_and_keeps_the_latch() -> None:
    bench = Bench()
    bench.oven_io.goes_off = False
    outcome = bench.run()
    assert not outcome.heat_off
    assert bench.released == 0
    assert [e.text for e in bench.events("not confirmed off")] == ["the output did not read back as off"]


def test_a_disk_that_fails_at_the_end_does_not_hide_how_it_ended() -> None:
    bench = Bench()

    def full(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    bench.recorder.finish = full  # type: ignore[method-assign]
    outcome = bench.run()
    assert (outcome.outcome, outcome.heat_off) == ("complete", True)
    assert bench.released == 1


def test_an_error_is_the_cause_and_the_heat_is_off() -> None:
    bench = Bench()

    def broken() -> None:
        raise ZeroDivisionError("invented")

    bench.act = {20: broken}
    with pytest.raises(ZeroDivisionError):
        bench.run()
    assert bench.runner.now.cause == "Program: ZeroDivisionError: invented"
    assert bench.oven_io.done[-1] == "off"
    found = Reader(bench.book.connection).run(bench.runner.heat.run_id or 0)
    assert (found.outcome, found.cause) == ("tripped", "Program: ZeroDivisionError: invented")


class Mute(Exception):
    def __str__(self) -> str:
        raise ZeroDivisionError("it has no words")


def test_an_error_without_words_latches_all_the_same() -> None:
    bench = Bench()
    bench.act = {20: lambda: (_ for _ in ()).throw(Mute())}
    with pytest.raises(Mute):
        bench.run()
    assert [trip.reason for trip in bench.latched] == ["Program: Mute"]


def test_a_latch_that_cannot_be_written_does_not_take_the_first_cause_away() -> None:
    def full(trip: Trip) -> None:
        raise OSError("no space left")

    bench = Bench()
    bench.runner.heat = replace(bench.runner.heat, station=replace(bench.station, latch_trip=full))
    bench.judge.says = {30: SMOKE}
    with pytest.raises(OSError, match="no space"):
        bench.run()
    assert bench.runner.now.trip == replace(SMOKE, reason="Smoke: in the shop")
    assert bench.oven_io.done[-1] == "off"


def test_what_breaks_while_an_error_is_told_leaves_the_oven_off_and_its_latch_armed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def no_memory(*_: Any) -> None:
        raise MemoryError

    bench = Bench()
    bench.act = {20: lambda: 1 / 0}
    monkeypatch.setattr(trip_record, "with_program_fault", no_memory)
    with pytest.raises(MemoryError):
        bench.run()
    assert bench.released == 0
    assert bench.oven_io.done[-1] == "off"


def test_what_is_not_checked_stands_in_the_record() -> None:
    bench = Bench(not_checked=("No second sensor.", "No door switch."))
    bench.run()
    assert [e.text for e in bench.events("not checked")] == ["No second sensor.", "No door switch."]
    assert [e.text for e in bench.events("start")] == ["hold (invented)"]


def test_planned_times_are_known_for_the_segments_that_have_one() -> None:
    runner = Bench(planned_s=(120.0, None)).runner
    assert [runner.heat.job.planned(n) for n in range(3)] == [120.0, None, None]


def kinds(seen: Iterable[ControlInput]) -> set[str]:
    return {s.segment_kind for s in seen}


def test_what_the_controller_is_shown() -> None:
    bench = Bench('name = "r"\n[[segment]]\nkind = "ramp"\nto = "100 C"\nrate = "600 C/h"\n' + HOLD[25:])
    bench.oven_io.at_c = lambda s: 30.0 + s / 6.0
    bench.act = {60: bench.runner.off}
    bench.run()
    seen = bench.control.seen[50]
    assert kinds(bench.control.seen) == {"ramp"}
    assert (seen.at_s, seen.dt_s, seen.goal_c, seen.setpoint_rate_c_per_h) == (50.0, 1.0, 100.0, 600.0)
    assert seen.process_c == pytest.approx(30.0 + 50.0 / 6.0)
    assert (seen.heat_wanted, seen.door_open, seen.heat_was_on) == (True, False, True)
    ahead_c, now_c = seen.preview(60.0), seen.setpoint_c
    assert ahead_c is not None
    assert now_c is not None
    assert ahead_c - now_c == pytest.approx(10.0, abs=0.5)
