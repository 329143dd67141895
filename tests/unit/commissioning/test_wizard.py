"""The walk in virtual time: what is asked, what is stored, what blocks, and where it goes on."""

import contextlib
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from heats import header
from maker import Maker

from kilnctl.cli.oven.commission import bars_a_heat, why_latched
from kilnctl.clock import VirtualClock
from kilnctl.commissioning import checklists, drop_test
from kilnctl.commissioning.drills import drills
from kilnctl.commissioning.drills.drill_job import KILLED
from kilnctl.commissioning.operator import Later, NotBegun
from kilnctl.commissioning.procedures import DOING
from kilnctl.commissioning.results import may_do
from kilnctl.commissioning.wizard import NOTE, Result, Shop, do_step, set_up
from kilnctl.config import home
from kilnctl.config.oven import load_oven
from kilnctl.logbook.entries import Calibration, Survey, newest
from kilnctl.logbook.recorder import Recorder
from kilnctl.logbook.records import RunHeader
from kilnctl.logbook.writer import Logbook
from kilnctl.marks import running_ovens
from kilnctl.marks.latch import Latch
from kilnctl.permits import step_results
from kilnctl.permits.dead_man_test import Finding
from kilnctl.permits.fingerprint import fingerprint
from kilnctl.permits.needed_steps import needs
from kilnctl.permits.open_steps import StepResult
from kilnctl.permits.setup_steps import BY_NAME, STEPS
from kilnctl.readings import Reading, Trip
from kilnctl.rehearsal.virtual_io import VirtualIO
from kilnctl.units import DAY_S
from simulator.boards.board import Board
from simulator.oven import ovens

OVEN = load_oven(home.bundled("ovens") / "tempering-oven.toml")
SAID = {"independent limit": "275 C", "Which machine": "small oven, 230 V", "Note": "with meter 3"}

BLIND = OVEN.model_copy(
    update={"signal": OVEN.signal.model_copy(update={"heater_live": None, "current_a": None})}
)


@pytest.fixture
def book() -> Iterator[Logbook]:
    with Logbook(None) as one_book:
        yield one_book


def shop_of(book: Logbook, maker: Maker, oven=OVEN, **more) -> Shop:
    clock = VirtualClock()
    board = Board(ovens.tempering_oven(3), seed=3)
    return Shop(
        oven=oven,
        oven_text="text",
        person=maker,
        clock=clock,
        book=book,
        oven_io=lambda like: VirtualIO(like, board, clock),
        probe=None,  # type: ignore[arg-type]
        **more,
    )


def step(book, name, answers=None, **more):
    maker = Maker({**SAID, **(answers or {})}, no=more.pop("no", ""))
    return do_step(shop_of(book, maker, **more), BY_NAME[name], DOING), maker


def test_every_step_knows_what_is_done() -> None:
    assert set(DOING) == set(BY_NAME)


def test_the_caution_is_shown_and_all_is_stored(book) -> None:
    kept, maker = step(book, "caution")
    assert kept.passed
    assert "This program switches heaters" in maker.text
    assert kept.data["limit set to, °C"] == 275.0
    assert "small oven" in kept.note


@pytest.mark.parametrize(
    ("no", "answers"), [("food", {}), ("over-temperature limit", {}), ("", {"limit, with": "400 C"})]
)
def test_a_kitchen_oven_a_missing_limit_or_one_set_too_high_block_everything(book, no, answers) -> None:
    """A limit at 400 °C guards nothing on an oven for 260 °C."""
    kept, _ = step(book, "caution", {"independent limit": "400 C"} if answers else {}, no=no)
    assert not kept.passed


def test_each_value_of_the_file_is_confirmed(book) -> None:
    kept, maker = step(book, "oven file")
    assert kept.passed
    assert kept.oven_hash == step_results.hash_of("text")
    for words in ("Machine limit 260 °C", "Power 1200 W", "type K", "red switch"):
        assert words in maker.text, maker.text
    assert not step(book, "oven file", no="Power")[0].passed


def test_of_a_file_that_was_changed_only_what_reads_otherwise_is_confirmed_anew(book) -> None:
    """A build that was changed after the pulse cost thirteen answers that had been given."""
    step(book, "oven file")
    changed = OVEN.model_copy(update={"power_w": 900.0})
    maker = Maker(SAID)
    kept = do_step(replace(shop_of(book, maker, changed), oven_text="changed"), BY_NAME["oven file"], DOING)
    assert kept.passed
    assert "Power 900 W" in maker.text
    assert "Machine limit" in maker.text
    assert "red switch" not in maker.text
    assert any("red switch" in one for one in kept.data)
    built = Maker(SAID)
    oven = changed.model_copy(update={"build": "fibre"})
    do_step(replace(shop_of(book, built, oven), oven_text="built"), BY_NAME["oven file"], DOING)
    assert "Build fibre" in built.text
    assert "Power 900 W" not in built.text


def test_a_stop_stores_nothing_and_the_next_walk_begins_there(book) -> None:
    maker = Maker({"independent limit": "275 C"})  # the question about the machine gets no answer
    assert set_up(shop_of(book, maker), STEPS, DOING, only_due=True) == 0
    assert "stopped here" in maker.text
    assert step_results.results(shop_of(book, maker).reader, OVEN.name) == {}
    again = Maker(SAID, acts={})
    set_up(shop_of(book, again), STEPS[:2], DOING, only_due=True)
    assert again.text.index("caution (needed") < again.text.index("oven file (needed")
    third = Maker(SAID)
    assert set_up(shop_of(book, third), STEPS[:2], DOING, only_due=True) == 0
    assert "(needed" not in third.text


def test_what_a_first_heat_needs_comes_before_what_only_a_heat_left_alone_needs(book) -> None:
    """At boiling water, for unattended heats only, q ended the walk before the pulse that each heat needs."""
    maker = Maker(SAID)
    set_up(shop_of(book, maker), [BY_NAME["fire equipment"], BY_NAME["caution"]], DOING, only_due=True)
    assert maker.text.index("caution (needed") < maker.text.index("fire equipment (needed")


def test_from_afar_what_heats_is_not_done_and_the_rest_is(book) -> None:
    """An oven without lamp and horn cannot ask who is there: its file can be read aloud all the same."""
    afar = {"why_afar": lambda: "oven has neither lamp nor horn"}
    assert step(book, "oven file", **afar)[0].passed
    for name in (
        "dead-man test",
        "heater pulse",
        "limit test",
        "weld drill",
        "door test",
        "sensor-out drill",
    ):
        kept, maker = step(book, name, **afar)
        assert kept is None
        assert "not done: oven has neither lamp nor horn" in maker.text


def test_a_file_whose_heat_nothing_drops_in_time_is_said_before_the_first_step(book) -> None:
    bare = OVEN.model_copy(update={"dead_man": None, "simulated": False})
    slow = OVEN.model_copy(
        update={"dead_man": OVEN.dead_man.model_copy(update={"drops_after_s": 15.0}), "simulated": False}
    )
    for oven, said in ((bare, True), (slow, True), (OVEN, False)):
        maker = Maker(SAID)
        set_up(shop_of(book, maker, oven), [BY_NAME["heater pulse"]], DOING, only_due=True)
        assert (re.search("can be watched and recorded, (not|NOT) heated", maker.text) is not None) is said
        assert ("timer-relay" in maker.text) is said


def test_a_step_waits_for_those_before_it(book) -> None:
    maker = Maker(SAID)
    set_up(shop_of(book, maker), [BY_NAME["heater pulse"]], DOING, only_due=True)
    assert "heater pulse: first dead-man test: never done; cold check: never done" in maker.text


def test_a_reference_check_becomes_a_calibration_typed_twice(book) -> None:
    answers = {"Lower": "100.4 C is 100.0 C", "Upper": "232.9 C is 231.9 C", "Reference": "K 3, May"}
    kept, maker = step(book, "reference check", answers)
    assert kept.passed
    assert kept.value == pytest.approx(-1.0)
    found = newest(shop_of(book, maker).reader, Calibration, OVEN.name)[1]
    assert (found.sensor, found.reference, found.as_found_k) == ("process", "K 3, May", -1.0)
    assert found.points == ((100.4, 100.0), (232.9, 231.9))


class Slip(Maker):
    """Types the second time something else, once."""

    slipped = False

    def ask(self, question: str, needed: bool = True) -> str:
        if "the same again" in question and not self.slipped:
            self.slipped = True
            return "104.0 C is 100.0 C"
        return super().ask(question, needed)


def test_two_different_entries_are_asked_again(book) -> None:
    answers = {"Lower": "100.4 C is 100.0 C", "Upper": "232.9 C is 231.9 C", "Reference": "K 3"}
    maker = Slip(answers)
    kept = do_step(shop_of(book, maker), BY_NAME["reference check"], DOING)
    assert kept.passed
    assert "the two differ" in maker.text


def test_a_correction_of_more_than_ten_kelvin_is_refused_and_not_stored(book) -> None:
    answers = {"Lower": "100.0 C is 112.0 C", "Upper": "220.0 C is 233.0 C", "Reference": "K 3"}
    kept, maker = step(book, "reference check", answers)
    assert not kept.passed
    assert "replace the sensor" in maker.text
    assert newest(shop_of(book, maker).reader, Calibration, OVEN.name) is None


def test_a_uniformity_survey_needs_five_positions_and_is_stored(book) -> None:
    places = ("front left", "front right", "middle", "rear left", "rear right")
    answers = {"oven held": "218 C", "Position 6": "", "on the way": "229 C"}
    answers |= {f"Position {n} ": f"{place} = {216 + n} C" for n, place in enumerate(places, 1)}
    kept, maker = step(book, "uniformity", answers)
    assert kept.passed
    assert kept.value == 3.0
    survey = newest(shop_of(book, maker).reader, Survey, OVEN.name)[1]
    assert (survey.low_k, survey.high_k, survey.loaded, survey.most_c) == (-1.0, 3.0, True, 229.0)


def test_a_uniformity_survey_with_a_slip_of_unit_is_not_stored(book) -> None:
    answers = {"oven held": "218 C", "Position 6": "", "on the way": ""}
    answers |= {f"Position {n} ": f"place {n} = 420 C" for n in range(1, 6)}
    kept, maker = step(book, "uniformity", answers)
    assert not kept.passed
    assert "°C written for °F" in maker.text
    assert newest(shop_of(book, maker).reader, Survey, OVEN.name) is None


def test_horn_lamp_bell_and_messages_are_stored_one_by_one(book) -> None:
    sent = ("ok    phone: taken by the channel after 0.2 s",)
    kept, maker = step(book, "horn and messages", send_test=lambda: sent)
    assert kept.passed
    assert kept.data["tested"] == {"horn": "yes", "lamp": "yes", "bell": "yes", "messages": "yes"}
    assert kept.expires_utc == pytest.approx(shop_of(book, maker).now_s + 90 * DAY_S, abs=30.0)


@pytest.mark.parametrize(
    ("no", "sent", "failed"),
    [
        ("horn heard", (), {"horn"}),
        ("lamp seen", (), {"lamp"}),
        ("bell heard", (), set()),  # a bell is a help, not a need
        ("message arrive", ("ok    phone: taken",), {"messages"}),
        ("", ("WRONG phone: not taken: no network",), {"messages"}),
    ],
)
def test_what_was_not_heard_fails_the_step(book, no, sent, failed) -> None:
    kept, _ = step(book, "horn and messages", no=no, send_test=lambda: sent)
    assert {name for name, word in kept.data["tested"].items() if word == "failed"} - {"bell"} == failed
    assert kept.passed is not bool(failed)


def test_without_horn_and_lamp_nobody_can_be_called(book) -> None:
    silent = OVEN.model_copy(update={"output": OVEN.output.model_copy(update={"horn": None, "lamp": None})})
    kept, maker = step(book, "horn and messages", oven=silent)
    assert not kept.passed
    assert "nobody would hear" in maker.text


def test_a_latch_that_does_not_survive_fails_the_sensor_drill(book) -> None:
    from simulator.boards.faults import parse_fault

    def shop(latched: bool) -> Shop:
        made = shop_of(book, Maker(SAID), still_latched=lambda: latched)
        oven_io = made.oven_io(OVEN)
        oven_io.board.schedule([parse_fault("sensor-open@8min")])
        return Shop(**{**made.__dict__, "oven_io": lambda _like: oven_io})

    assert do_step(shop(True), BY_NAME["sensor-out drill"], DOING).passed
    kept = do_step(shop(False), BY_NAME["sensor-out drill"], DOING)
    assert not kept.passed
    assert "did NOT survive a restart" in kept.note


def test_a_step_that_an_off_has_ended_begins_with_the_stamps_of_now_when_it_is_done_again(book) -> None:
    """The off of 02:36 was told again after each n, until the set-up was begun anew."""
    offs, seen, tries = [], [], []

    class AsksAnew(Maker):
        def key(self, question: str) -> bool:
            super().key(question)
            return "does caution again" not in question  # n: do it again

    def again() -> None:
        offs.clear()

    def step_of(shop: Shop, _step) -> Result:
        if not tries:
            offs.append("off was asked at 02:36:25 by x")
        tries.append(list(offs))
        seen.append(dict(shop.off_stamp()))
        return Result(not offs, note="; ".join(offs))

    maker = AsksAnew(SAID)
    shop = shop_of(book, maker, off_stamp=lambda: {"offs": str(len(offs))}, asked_anew=again)
    set_up(shop, [BY_NAME["caution"]], {"caution": step_of}, only_due=True)
    assert tries == [["off was asked at 02:36:25 by x"], []]
    assert seen == [{"offs": "1"}, {"offs": "0"}]


def a_heat_taken_up(book: Logbook, oven: str = OVEN.name) -> None:
    recorder = Recorder(book, book.start_run(RunHeader(oven, "", "", "temper", 0.0)), VirtualClock())
    said = "run 1 taken up: it was interrupted for 10 min by the clocks, 9 min by its cooling"
    recorder.event("taken up", said, run=1)
    recorder.finish("complete", {})


def test_the_power_drill_is_read_from_the_record_not_taken_on_trust(book) -> None:
    kept, maker = step(book, "power drill")
    assert kept is None
    assert "kilnctl run --from" in maker.text
    a_heat_taken_up(book, "another oven")
    assert step(book, "power drill")[0] is None
    a_heat_taken_up(book)
    kept, maker = step(book, "power drill")
    assert kept.passed
    assert "10 min by the clocks" in maker.text
    assert kept.data["run"] == 2
    assert not step(book, "power drill", no="stay off")[0].passed
    assert not step(book, "power drill", no="as long")[0].passed


def test_whoever_stops_at_the_note_keeps_what_was_proved(book) -> None:
    """A pulse of three minutes had passed, and q at its note threw it away."""

    class Stops(Maker):
        def ask(self, question: str, needed: bool = True) -> str:
            if question == NOTE:
                raise Later
            return super().ask(question, needed)

    assert do_step(shop_of(book, Stops(SAID)), BY_NAME["heater pulse"], DOING).passed


def test_the_questions_of_the_walk_are_questions() -> None:
    lists = (
        checklists.BEFORE_ANYTHING,
        checklists.LIMIT_QUESTIONS,
        (drop_test.METER_ON, drop_test.ON_AGAIN, drop_test.SHOWED, drop_test.LIMIT_QUESTION),
        (drop_test.REFUSED_QUESTION,),
        checklists.FIRE_QUESTIONS,
    )
    lists += (checklists.POWER_QUESTIONS, checklists.MAKERS_LIMIT_QUESTIONS)
    assert all(re.search(r"\?$", question) for questions in lists for question in questions)


def test_a_latched_oven_is_said_to_bar_a_heat_before_the_set_up_begins(tmp_path, monkeypatch) -> None:
    """A newcomer did the whole set-up of an oven that a trial had latched, and met the latch at the heat."""
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    assert bars_a_heat(OVEN) == ""
    Latch(OVEN.name, lambda: datetime(2026, 11, 25, tzinfo=UTC)).trip(Trip("smoke", "it smokes", 1.0))
    said = bars_a_heat(OVEN)
    assert "it smokes" in said
    assert f"`kilnctl reset --oven {OVEN.name}`" in said


@pytest.mark.parametrize("goes_on", [True, False])
def test_a_drill_of_a_latched_oven_begins_when_its_person_has_read_the_latch(
    book, tmp_path, monkeypatch, goes_on
) -> None:
    monkeypatch.setenv("KILNCTL_HOME", str(tmp_path))
    assert why_latched(OVEN, Maker({})) == ""
    Latch(OVEN.name, lambda: datetime(2026, 11, 25, tzinfo=UTC)).trip(Trip("smoke", "it smokes", 1.0))
    maker = Maker(SAID, no="" if goes_on else "Go on")
    shop = shop_of(book, maker, why_latched=lambda: why_latched(OVEN, maker))
    with contextlib.nullcontext() if goes_on else pytest.raises(NotBegun, match="no drill was begun"):
        shop.drill("pulse", BY_NAME["heater pulse"])
    assert "it smokes" in maker.text


def test_a_first_temper_that_still_runs_is_said_to_run_and_stores_nothing(book, own_home) -> None:
    running_ovens.mark(OVEN.name, (home.bundled("ovens") / f"{OVEN.name}.toml").read_text(encoding="utf-8"))
    clock_utc = VirtualClock().utc().timestamp()
    run = book.start_run(header(oven=OVEN.name, simulated=False, started_utc=clock_utc))
    kept, maker = step(book, "first temper", {"Number of the run": str(run)})
    assert kept is None
    assert "it runs still" in maker.text
    assert "without an end" not in maker.text


def test_a_limit_that_is_set_too_high_says_why_and_may_be_set_anew_at_once(book) -> None:
    """1140 °C "guards nothing here" without a why, and the walk went on asking as if all were well."""
    kept, maker = step(book, "caution", {"independent limit": "400 C", "set to now": "270 C"})
    assert kept.passed
    assert kept.data["limit set to, °C"] == 270.0
    assert "260 °C in the oven file" in maker.text
    stays, maker = step(book, "caution", {"independent limit": "400 C"})
    assert not stays.passed
    assert "Which machine" not in maker.text
    assert "set too high to guard" in stays.note


def test_a_step_that_failed_names_the_answer_and_what_it_bars_then_asks_how_to_go_on(book) -> None:
    """After "NOT passed" the next step began at once, and the person's next n fell on its first question."""

    class Learns(Maker):
        def key(self, question: str) -> bool:
            said = super().key(question)
            if "Go on to the next step" in question:
                self.no = ""
                return False  # do it again
            return said

    maker = Learns(SAID, no="never again for food")
    set_up(shop_of(book, maker), STEPS[:2], DOING, only_due=True)
    failed, again = maker.text.index("NOT passed"), maker.text.index("Go on to the next step")
    why = maker.text[failed:again]
    assert 'never again for food?" was answered with no' in why
    assert "Until caution has passed: no heat" in why
    assert maker.text.count("caution (needed") == 2
    assert maker.text.index("passed, stored", again) < maker.text.index("oven file (needed")


@pytest.mark.parametrize(
    ("done", "said"),
    [
        ((), "no heat, because of caution: never done; oven file: never done; bus check: never done, and"),
        (
            ("above",),
            "may heat up to 260 °C (500 °F), attended; higher not, because of sensor-out drill: never done",
        ),
        (("sensor-out drill",), "may heat to below 900 °C (1652 °F), attended"),
    ],
)
def test_every_set_up_ends_with_what_the_oven_may_do_now(done: tuple[str, ...], said: str) -> None:
    hot = OVEN.model_copy(update={"limit_c": 900.0, "simulated": False})
    have = {one.name for one in needs("live", hot)} if done else set()
    found = {
        name: StepResult(True, 0.0, oven_hash="h", rests_on=fingerprint(name, hot))
        for name in {*have, *done} & set(BY_NAME)
    }
    whole = may_do(found, 100.0, hot, "h")
    assert said in whole
    first = f"`kilnctl run --oven {hot.name} --soak 60C --for 10min`"
    assert (first in whole) is said.startswith("may heat")


def test_the_walk_says_it_also_where_the_person_stops(book) -> None:
    maker = Maker({})
    set_up(shop_of(book, maker), STEPS, DOING, only_due=True)
    assert "no heat, because of caution" in maker.heard[-1]


def test_an_oven_without_an_emergency_stop_needs_an_isolator_that_serves_as_one(book) -> None:
    """Who has none had to say that he had pressed it."""
    kept, maker = step(book, "drop test", no="stop fitted", oven=BLIND)
    assert kept.passed
    assert "Emergency stop pressed" not in maker.text
    assert "red switch" in maker.text
    assert "the isolator must serve" in maker.text
    assert not step(book, "drop test", no="stop fitted|without reaching past", oven=BLIND)[0].passed


def test_the_caution_has_no_rows_of_its_own() -> None:
    """A terminal breaks lines: where the text had broken them before, every second row was half empty."""
    assert "\n" not in checklists.before_anything()


class Slips(Maker):
    """Answers the first time with n what it means to answer with y."""

    def __init__(self, *slips: str) -> None:
        super().__init__(SAID)
        self.slips = list(slips)

    def key(self, question: str) -> bool:
        super().key(question)
        if slip := next((one for one in self.slips if one in question), ""):
            self.slips.remove(slip)
            return False
        return True


@pytest.mark.parametrize(
    "slips",
    [
        ("emergency stop fitted", "as there is none"),
        (drop_test.METER_ON,),
        (drop_test.ON_AGAIN,),
    ],
)
def test_a_slip_at_a_question_of_the_setting_up_costs_no_drill(book, slips: tuple[str, ...]) -> None:
    """One n for y, at whether an emergency stop is fitted, cost the whole drop test."""
    maker = Slips(*slips)
    kept = do_step(shop_of(book, maker, oven=BLIND), BY_NAME["drop test"], DOING)
    assert kept.passed
    assert "Emergency stop pressed" in maker.text
    assert not maker.slips


def test_an_off_of_before_is_told_and_spoils_no_step_that_is_begun_after_it(book) -> None:
    """One step heeded an off of six minutes ago, two between had not; each begins with what stands now."""
    told: list[str] = []
    maker = Maker(SAID)
    shop = shop_of(book, maker, asked_anew=lambda: told.append(maker.heard[-1] if maker.heard else ""))
    for name in ("caution", "drop test"):
        do_step(shop, BY_NAME[name], DOING)
    begun = [line for line in maker.heard if "(needed for" in line]
    assert told == begun, "what stands is looked at when a step is shown, before its first question"


class Rising:
    """The I/O of an oven whose sensor rises by a kelvin at each look, as fast as a small oven does."""

    def __init__(self, inner: VirtualIO) -> None:
        self._inner, self._looks = inner, 0

    def scan(self, now_s: float):
        self._looks += 1
        return replace(self._inner.scan(now_s), process=Reading(20.0 + self._looks, now_s))

    def __getattr__(self, name: str):
        return getattr(self._inner, name)


@pytest.mark.parametrize("name", ["dead_man", "hold", "starved"])
def test_a_heater_that_is_not_isolated_is_noticed_in_the_tests_that_want_it_isolated(book, name) -> None:
    """An oven rose from 21 to 131 °C in the dead-man tests, and nothing was said."""
    shop = shop_of(book, Maker(SAID))
    rising = replace(shop, oven_io=lambda like: Rising(shop.oven_io(like)))
    found = rising.drill(name, BY_NAME["dead-man test"])
    assert not found.passed
    assert "its heater was to be isolated and is not" in found.line
    still = shop.drill(name, BY_NAME["dead-man test"])  # the same oven, as it is in that time
    assert still.passed or "the cable was not out" in still.line


@pytest.mark.parametrize("name", [*drills.HEAT, KILLED])
@pytest.mark.parametrize("yes", [True, False])
def test_no_drill_switches_heat_on_before_it_is_announced_and_answered_with_yes(book, name, yes) -> None:
    """After y to "emergency stop: terminals dead on a meter?" the relay was closed without a word."""
    order = []
    maker = Maker(
        SAID, no="" if yes else "heat may come on", acts={"heat may come on": lambda: order.append("asked")}
    )

    def apart(_job) -> Finding:
        order.append("heat")
        return Finding(True, 5.0, "done")

    shop = shop_of(book, maker, apart=apart)
    of_a_step = BY_NAME["heater pulse"]
    with contextlib.nullcontext() if yes else pytest.raises(NotBegun):
        shop.killed(of_a_step, False) if name == KILLED else shop.drill(name, of_a_step)
    assert order == (["asked", "heat"] if yes else ["asked"])


@pytest.mark.parametrize("name", drills.HEAT)
def test_what_is_announced_says_how_the_isolator_must_stand(book, name) -> None:
    """The dead-man test had it off, and the pulse after it did not say to switch it on again."""
    maker = Maker(SAID)
    shop_of(book, maker, apart=lambda _job: Finding(True, 5.0, "done")).drill(name, BY_NAME["heater pulse"])
    asked = next(said for said in maker.heard if "heat may come on" in said)
    assert ("isolator off" in asked) is (name in drills.ISOLATED)
    assert ("isolator on" in asked) is (name not in drills.ISOLATED)


def test_hands_that_warm_a_sensor_are_told_to_isolate_first(book) -> None:
    maker = Maker(SAID)
    shop_of(book, maker).drill("warmed", BY_NAME["cold check"])
    assert "before the isolator is off" in maker.text


@pytest.mark.parametrize("name", [name for name in drills.DRILLS if name not in drills.HEAT])
def test_a_drill_that_is_not_announced_never_asks_for_heat(book, name) -> None:
    asked = []

    class Seen(VirtualIO):
        def drive(self, request) -> bool:
            asked.append(request.on)
            return super().drive(request)

    shop = shop_of(book, Maker(SAID))
    seen = Seen(OVEN, Board(ovens.tempering_oven(3), seed=3), shop.clock)
    drills.run(name, OVEN, seen, shop.clock)
    assert asked
    assert not any(asked)


@pytest.mark.parametrize("name", ["drop test", "dead-man test", "limit test", "heater pulse"])
def test_whoever_is_not_ready_sees_no_heat_and_is_asked_for_no_result(book, name) -> None:
    kept, maker = step(book, name, no="heat may come on")
    assert not kept.passed
    assert kept.note == "not begun"
    before, announced, after = maker.text.partition("heat may come on")
    assert announced
    assert "?" not in after.replace("Go on to the next step?", "")
    assert "press the emergency stop now" not in before + after
