"""Keys and what they send: off everywhere at once, questions with the safe answer, a count with one key."""

import dataclasses

import pytest
from dashboard.feed import (
    Wire,
    cooling,
    flat,
    heating,
    held,
    hot,
    ready,
    soaking,
    tempering,
    text_of,
    tripped,
    waiting,
)
from textual.command import CommandList
from textual.events import Paste
from textual.screen import ModalScreen
from textual.widgets import Button, Input

from kilnctl.clock import VirtualClock
from kilnctl.dashboard.app import WatchApp
from kilnctl.dashboard.drawing.big_font import big
from kilnctl.dashboard.formatting import trip_words
from kilnctl.dashboard.keys import key_row
from kilnctl.dashboard.panels import big_views
from kilnctl.dashboard.panels.limit_meanings import MEANINGS
from kilnctl.dashboard.questions import Question, TextEntry
from kilnctl.dashboard.view_state import View
from kilnctl.interlocks import INTERLOCKS
from kilnctl.link.snapshot import Answer, Command, Snapshot


def asked(wire: Wire) -> list[tuple[str, dict[str, object]]]:
    return [(c.word, c.args) for c in wire.asked]


async def test_off_works_everywhere_at_once_without_a_question() -> None:
    wire = Wire(dataclasses.replace(tripped(), waiting=ready().waiting))
    app = WatchApp(wire, VirtualClock(), who="pts/7")
    places = ("", "f", "2", "5", "r", "r left enter", "ctrl+p", "ctrl+p o f", "space")
    async with app.run_test() as pilot:
        await pilot.pause()
        for place in places:
            await pilot.press(*place.split())
            await pilot.pause()
            wire.asked.clear()
            await pilot.press("f9")
            await pilot.pause()
            assert wire.asked == [Command("off", None, {}, "pts/7")], place
            while isinstance(app.screen, ModalScreen):
                app.pop_screen()
            await pilot.press("1")


async def test_off_works_inside_a_text_field_and_says_what_came_of_it() -> None:
    wire = Wire(soaking())
    wire.answers["off"] = Answer(False, "off was sent but not read back: hardening-furnace")
    app = WatchApp(wire, VirtualClock())
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press("n", "f", "i")
        await pilot.pause()
        assert isinstance(app.screen, TextEntry)
        await pilot.press("f9")
        await pilot.pause()
        assert [c.word for c in wire.asked] == ["off"]
        assert not isinstance(app.screen, ModalScreen), "off must be seen: the question goes unanswered"
        assert "off REFUSED: off was sent but not read back: hardening-furnace" in flat(text_of(app))


async def test_a_pasted_text_becomes_one_line_and_is_cut_where_it_can_be_seen() -> None:
    wire, rung = Wire(soaking()), []
    app = WatchApp(wire, VirtualClock())
    app.bell = lambda: rung.append(1)  # type: ignore[method-assign]
    async with app.run_test() as pilot:
        await pilot.pause()
        rung.clear()
        app.post_message(Paste("q x w f9\n"))
        await pilot.pause()
        await pilot.press("n")
        await pilot.pause()
        field = app.screen.query_one(Input)
        field.post_message(Paste("60 skates,\n65 cuts;\r\n bare\n"))
        await pilot.pause()
        assert field.value == "60 skates, 65 cuts; bare"
        assert not rung
        field.post_message(Paste("x" * 500))
        await pilot.pause()
        assert field.value == "60 skates, 65 cuts; bare" + "x" * 176
        assert rung
        await pilot.press("enter")
        await pilot.pause()
    assert [c.args["text"] for c in wire.asked] == [field.value]


async def test_a_key_that_bounces_answers_once() -> None:
    """Two Enters that come together: the second found no dialog to close, and ended the screen."""
    wire = Wire(tripped())
    app = WatchApp(wire, VirtualClock())
    async with app.run_test() as pilot:
        await pilot.pause()
        for key in ("r", "n"):
            await pilot.press(key)
            await pilot.pause()
            dialog = app.screen
            for _ in range(3):
                if isinstance(dialog, TextEntry):
                    dialog.on_input_submitted(Input.Submitted(dialog.query_one(Input), "60 skates"))
                else:
                    dialog.on_button_pressed(Button.Pressed(dialog.query_one("#no", Button)))  # type: ignore[attr-defined]
                await dialog.run_action("leave_empty" if key == "n" else "answer_no")
            await pilot.pause()
            assert not isinstance(app.screen, ModalScreen)
        await pilot.press("ctrl+p")
        await pilot.pause(0.3)
        palette = app.screen
        palette.dismiss()
        palette.dismiss()
        await pilot.pause()
        assert len(app.screen_stack) == 1
    assert [c.args for c in wire.asked] == []


async def test_what_a_raw_paste_types_after_its_first_line_is_no_key() -> None:
    """A terminal without bracketed paste types the line feed as Enter and the rest as keys; off stays off."""
    wire, clock = Wire(ready()), VirtualClock()
    app = WatchApp(wire, clock)
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press("n", *"60 skates", "enter", "space", "w", "a", "space", "f9")
        await pilot.pause()
        assert [c.word for c in wire.asked] == ["mark", "off"]
        clock.advance(0.6)
        await pilot.press("space")
        await pilot.pause()
    assert [c.word for c in wire.asked] == ["mark", "off", "answer"]


@pytest.mark.parametrize("gone", [True, False], ids=["the controller has gone", "it could not"])
async def test_off_goes_to_the_ports_where_the_controller_does_not_do_it(gone: bool) -> None:
    wire, done = Wire(heating()), []

    async def at_ports() -> Answer:
        done.append("off")
        return Answer(True, "heat is off, read back: hardening-furnace (by kilnctl at the port)")

    wire.answers["off"] = Answer(False, "the controller has gone" if gone else "off was not read back")
    app = WatchApp(wire, VirtualClock(), off_at_ports=at_ports, read_only=True)
    async with app.run_test() as pilot:
        await pilot.pause()
        if gone:
            wire.hang_up()
        await pilot.press("f9")
        await pilot.pause()
        assert done == ["off"]
        assert "off: heat is off, read back: hardening-furnace (by kilnctl at the port)" in flat(text_of(app))
        done.clear()
        wire.answers["off"] = Answer(True, "heat is off, read back")
        await pilot.press("f9")
        await pilot.pause()
        assert done == []


async def test_with_two_ovens_the_key_says_that_it_means_both() -> None:
    app = WatchApp(Wire(heating(), tempering()), VirtualClock())
    async with app.run_test() as pilot:
        await pilot.pause()
        app.redraw()
        await pilot.pause()
        assert "F9 ALL OFF" in text_of(app)
        assert "hardening-furnace" in text_of(app)
        await pilot.press("o")
        await pilot.pause()
        assert "tempering-oven" in text_of(app)


async def test_the_second_oven_has_a_row_and_its_trip_closes_a_question_about_the_first() -> None:
    wire = Wire(tempering(), heating())
    app = WatchApp(wire, VirtualClock(), oven="tempering-oven")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        app.redraw()
        await pilot.pause()
        row = text_of(app).splitlines()[1].strip()
        assert row.startswith("hardening-furnace  ▲ heating  742 °C → 800 °C")
        assert row.endswith("o shows it")
        await app.run_action("app.longer")
        await pilot.pause()
        assert isinstance(app.screen, Question)
        wire.put(tripped())
        await pilot.pause()
        app.look_again()
        await pilot.pause()
        assert not isinstance(app.screen, Question)
        assert "✖ tripped" in text_of(app).splitlines()[1]
        assert "You: hardening-furnace needs you: press o." in flat(text_of(app))
        await pilot.click("#others", offset=(75, 0))
        await pilot.pause()
        assert "HEAT IS OFF, read back" in text_of(app)


async def test_a_reset_asks_and_the_safe_answer_has_the_focus() -> None:
    wire = Wire(tripped())
    app = WatchApp(wire, VirtualClock())
    async with app.run_test() as pilot:
        await pilot.pause()
        for button in ("enter", "escape"):
            await pilot.press("r")
            await pilot.pause()
            assert isinstance(app.screen, Question)
            assert flat(trip_words(tripped())) in flat(text_of(app)), "the question leaves the trip in sight"
            wire.put(dataclasses.replace(tripped(), sequence=2))
            await pilot.pause()
            app.look_again()
            await pilot.pause()
            assert isinstance(app.screen, Question), "a question about the trip itself stays open"
            await pilot.press(button)
            await pilot.pause()
            assert wire.asked == []
            assert not isinstance(app.screen, Question)


async def test_a_reset_is_apart_from_acknowledging_and_goes_with_a_note_or_not_at_all() -> None:
    wire, clock = Wire(tripped()), VirtualClock()
    app = WatchApp(wire, clock)
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press("a")
        await pilot.pause()
        assert asked(wire) == [("acknowledge", {})]
        wire.asked.clear()
        for note, told in (("", []), ("relay new", [("reset", {"note": "relay new"})])):
            await pilot.press("r")
            await pilot.pause()
            await pilot.press("right", "enter")
            await pilot.pause()
            await pilot.press(*note, "enter")
            await pilot.pause()
            assert asked(wire) == told
            assert ("a reset needs a note" in text_of(app)) is (note == "")
            clock.advance(1.0)


async def test_what_adds_heat_asks_first() -> None:
    wire, clock = Wire(soaking()), VirtualClock()
    app = WatchApp(wire, clock)
    async with app.run_test() as pilot:
        await pilot.pause()
        for action, args in (("longer", {"what": "longer", "by_s": 600.0}), ("skip", {"what": "next"})):
            for keys, told in ((["enter"], []), (["right", "enter"], [("adjust", args)])):
                await app.run_action(f"app.{action}")
                await pilot.pause()
                await pilot.press(*keys)
                await pilot.pause()
                assert asked(wire) == told
                clock.advance(1.0)
            wire.asked.clear()


async def test_the_goal_is_lowered_by_a_number_with_its_unit() -> None:
    """410 degF = 210 degC. Whether it is a lower one the controller judges, which refuses any other."""
    wire, clock = Wire(soaking()), VirtualClock()
    app = WatchApp(wire, clock)
    async with app.run_test() as pilot:
        await pilot.pause()
        for typed, said in (("210", "needs a unit"), ("cold", "not lowered"), ("", "")):
            await pilot.press("g", *typed, "enter")
            await pilot.pause()
            assert wire.asked == []
            assert said in flat(text_of(app))
            clock.advance(1.0)
        for typed in ("210 C", "410F"):
            await pilot.press("g")
            await pilot.pause()
            assert isinstance(app.screen, TextEntry)
            asks = flat(text_of(app).replace("┃", ""))
            assert "New, lower goal for this ramp and its soak (now 800 °C)" in asks
            assert "HOT EQUIPMENT" in asks, "a question hides neither the caution nor how to switch off"
            assert "F9 OFF" in asks
            await pilot.press(*typed, "enter")
            await pilot.pause()
            clock.advance(1.0)
    assert asked(wire) == 2 * [("adjust", {"what": "lower", "to_c": pytest.approx(210.0)})]


async def test_where_there_is_no_goal_to_lower_the_key_is_not_there() -> None:
    wire = Wire(heating())
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(110, 24)) as pilot:
        for state, there in ((heating(), True), (soaking(), True), (cooling(), False), (waiting(), False)):
            app.gallery.newest.clear()
            wire.put(dataclasses.replace(state, sequence=state.sequence + 1))
            await pilot.pause()
            app.redraw()
            await pilot.pause()
            assert ("g lower" in text_of(app)) is there, state.word
        await pilot.press("g")
        await pilot.pause()
        assert not isinstance(app.screen, TextEntry)


async def test_what_somebody_else_asks_is_seen_here_and_ones_own_is_not_said_twice() -> None:
    wire = Wire(dataclasses.replace(soaking(), last_command="acknowledge by pts/2"))
    app = WatchApp(wire, VirtualClock(), who="pts/7")
    async with app.run_test() as pilot:
        await pilot.pause()
        app.look_again()
        await pilot.pause()
        assert "by pts/2" not in flat(text_of(app)), "what was asked before we came is no news"
        for words_, there in (("answer wait by pts/7", False), ("adjust: 10 min longer by pts/2", True)):
            wire.put(dataclasses.replace(soaking(), last_command=words_))
            await pilot.pause()
            app.look_again()
            await pilot.pause()
            assert (words_ in flat(text_of(app))) is there


async def test_a_refusal_is_shown_with_its_reason() -> None:
    wire = Wire(held())
    wire.answers["acknowledge"] = Answer(False, "the heat is over")
    app = WatchApp(wire, VirtualClock())
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press("a")
        await pilot.pause()
        assert "acknowledge REFUSED: the heat is over" in flat(text_of(app))


async def test_a_trip_closes_an_open_question_unanswered() -> None:
    wire = Wire(soaking())
    app = WatchApp(wire, VirtualClock())
    async with app.run_test() as pilot:
        await pilot.pause()
        await app.run_action("app.longer")
        await pilot.pause()
        assert isinstance(app.screen, Question)
        wire.put(tripped())
        await pilot.pause()
        app.look_again()
        await pilot.pause()
        assert not isinstance(app.screen, Question)
        assert "HEAT IS OFF, read back" in text_of(app)
        await pilot.press("enter", "right", "enter")
        await pilot.pause()
        assert wire.asked == []


async def test_a_trip_closes_a_question_that_opens_in_the_same_moment() -> None:
    app = WatchApp(Wire(heating()), VirtualClock())
    async with app.run_test() as pilot:
        await pilot.pause()
        for dialog in (Question("Longer?", "yes", "no"), TextEntry("Down to:", "100 °C")):
            app.push_screen(dialog)
            app.close_questions()
            await pilot.pause(0.2)
            assert not isinstance(app.screen, ModalScreen)
        app.action_command_palette()
        app.close_questions()
        await pilot.pause(0.2)
        assert not isinstance(app.screen, ModalScreen)


async def test_the_step_is_answered_with_the_big_key_and_its_end_asks() -> None:
    wire = Wire(waiting())
    app = WatchApp(wire, VirtualClock())
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press("w", "space", "x")
        await pilot.pause()
        assert asked(wire) == [("answer", {"reply": "wait"}), ("answer", {"reply": "done"})]
        await pilot.press("right", "enter")
        await pilot.pause()
        assert asked(wire)[2:] == [("answer", {"reply": "abort"})]


async def test_the_count_from_furnace_to_hand_warm() -> None:
    """One key: out, in the oil, out of the oil, clamped, hand-warm; each with its seconds in the record."""
    clock = VirtualClock()
    wire = Wire(dataclasses.replace(ready(), hand_times_s={"transfer": 5.0, "bath": 7.0}, medium="fast oil"))
    app = WatchApp(wire, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("space")
        await pilot.pause()
        assert "Transfer: at most 5.0 s. SPACE when it is in the oil." in flat(text_of(app))
        assert "accepted" not in text_of(app), (
            "it lay over the bar of the 5 s; the count itself is the answer"
        )
        clock.advance(9.0)
        app.count()
        await pilot.pause()
        assert "LATE. SPACE when it is in the oil." in flat(text_of(app))
        await pilot.press("space")
        for seconds in (7.0, 20.0, 300.0):
            clock.advance(seconds)
            await pilot.press("space")
        await pilot.pause()
        assert app.hands is None
        assert asked(wire) == [
            ("answer", {"reply": "done", "mark": "out of the furnace"}),
            ("mark", {"mark": "in the oil", "after_s": 9.0, "late": True}),
            ("mark", {"mark": "out of the oil", "after_s": 7.0, "late": False}),
            ("mark", {"mark": "clamped", "after_s": 20.0, "late": False}),
            ("mark", {"mark": "hand-warm", "after_s": 300.0, "late": False}),
        ]


async def test_a_trip_in_the_count_is_seen() -> None:
    wire = Wire(ready())
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("space")
        wire.put(tripped())
        await pilot.pause()
        app.look_again()
        await pilot.pause()
        assert "HEAT IS OFF, read back" in text_of(app)


async def test_a_heat_that_ends_in_the_count_is_seen() -> None:
    """Two parts lay in a furnace that was off, and the screen went on counting the first one to hand-warm."""
    wire = Wire(ready())
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("space")
        cause = 'nobody confirmed "clamp 1 of 3" in time; the heat is off'
        wire.put(dataclasses.replace(hot(), state="aborted", outcome="ended_early", cause=cause))
        await pilot.pause()
        app.look_again()
        await pilot.pause()
        said = flat(text_of(app))
        assert cause in said
        assert "kilnctl guide when-it-went-wrong" in said
        assert app.hands is not None, "the count goes on beside it"


class Record:
    """A logbook that a test looks into: what a screen keeps beside a record."""

    def __init__(self) -> None:
        self.kept: list[tuple[int | None, dict[str, object]]] = []

    async def keep(self, s: Snapshot, stamp: dict[str, object]) -> Answer:
        """Keep a stamp."""
        self.kept.append((s.run, stamp))
        return Answer(True, f"kept with run {s.run}")


async def test_a_result_is_kept_as_a_test_whenever_it_comes() -> None:
    """In the heat the controller is told too; when it is over the record alone."""
    wire, record, clock = Wire(soaking()), Record(), VirtualClock()
    app = WatchApp(wire, clock, keep=record.keep)
    kept = {"mark": "result", "text": "60"}
    async with app.run_test() as pilot:
        for told, later in (([("mark", kept)], hot()), ([], hot())):
            await pilot.pause()
            await pilot.press("n")
            await pilot.pause()
            await pilot.press("6", "0", "enter")
            await pilot.pause()
            assert record.kept == [(12, kept)]
            assert "result: kept with run 12" in flat(text_of(app))
            assert asked(wire) == told
            record.kept.clear()
            wire.asked.clear()
            clock.advance(1.0)
            wire.put(dataclasses.replace(later, sequence=20000, published_boot_s=clock.boot_s()))


async def test_a_stamp_that_the_controller_refuses_reaches_the_record() -> None:
    """The quench was the last step: the heat ends under the hands, and its record is closed."""
    wire, record, clock = Wire(ready()), Record(), VirtualClock()
    wire.answers["mark"] = Answer(False, "the heat is over")
    app = WatchApp(wire, clock, keep=record.keep)
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press("space")
        clock.advance(4.0)
        await pilot.press("space")
        await pilot.pause()
        wire.put(hot())
        await pilot.pause()
        app.look_again()
        await pilot.press("space")
        await pilot.pause()
    marks = [(run, stamp["mark"]) for run, stamp in record.kept]
    assert marks == [(12, "in the bath"), (12, "out of the bath")]


async def test_the_clamp_of_the_plan_is_answered_by_the_count() -> None:
    """The plan waits at its own clamp step meanwhile: one press stamps it and answers it."""
    wire, clock = Wire(ready()), VirtualClock()
    app = WatchApp(wire, clock)
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press("space", "space", "space")
        clamp = dataclasses.replace(ready().waiting, step="clamp")  # type: ignore[type-var]
        wire.put(dataclasses.replace(ready(), waiting=clamp, word="waiting for you"))
        await pilot.pause()
        app.look_again()
        clock.advance(30.0)
        await pilot.press("space")
        await pilot.pause()
    word, args = asked(wire)[-1]
    assert (word, args["reply"], args["mark"], args["after_s"]) == ("answer", "done", "clamped", 30.0)


async def test_the_next_blade_ends_the_count() -> None:
    wire, clock = Wire(ready()), VirtualClock()
    app = WatchApp(wire, clock)
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press("space")
        app.count()
        assert app.hands is not None, "its own quench does not"
        wire.put(dataclasses.replace(ready(), segment=7))
        await pilot.pause()
        app.look_again()
        app.count()
        await pilot.pause()
        assert app.hands is None
        await pilot.press("space")
        await pilot.pause()
    assert [word for word, _ in asked(wire)] == ["answer", "answer"]


async def test_a_read_only_screen_sends_nothing_but_off() -> None:
    wire = Wire(dataclasses.replace(tripped(), waiting=ready().waiting))
    app = WatchApp(wire, VirtualClock(), read_only=True)
    async with app.run_test() as pilot:
        await pilot.pause()
        for key in "swarngx":
            await pilot.press("space" if key == "s" else key)
            await pilot.pause()
            await pilot.press("enter", "right", "enter")
            await pilot.pause()
            assert wire.asked == [], key
        await pilot.press("f9")
        await pilot.pause()
        assert [c.word for c in wire.asked] == ["off"]


async def test_a_read_only_screen_has_a_second_lock_behind_its_keys() -> None:
    wire = Wire(tripped())
    app = WatchApp(wire, VirtualClock(), read_only=True)
    async with app.run_test() as pilot:
        await pilot.pause()
        app.action_acknowledge()
        app.action_wait()
        app.action_reset()
        await pilot.pause()
        assert wire.asked == []
        assert not isinstance(app.screen, Question)
        assert "can only switch off" in text_of(app)
        assert "read-only" in text_of(app).splitlines()[0]


@pytest.mark.parametrize("key", ["ctrl+c", "q"])
async def test_leaving_does_not_touch_the_heat(key: str) -> None:
    wire = Wire(heating())
    app = WatchApp(wire, VirtualClock())
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press(key)
        await pilot.pause()
    assert not app.is_running
    assert wire.asked == []


async def test_ctrl_c_in_an_attached_run_asks_for_off_and_leaves() -> None:
    wire = Wire(heating())
    app = WatchApp(wire, VirtualClock(), oven="hardening-furnace", ctrl_c_off=True)
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press("ctrl+c")
        await pilot.pause()
    assert wire.asked == [Command("off", "hardening-furnace", {}, "")]


async def test_ctrl_c_means_all_ovens_where_another_one_is_shown() -> None:
    wire = Wire(heating(), tempering())
    app = WatchApp(wire, VirtualClock(), oven="hardening-furnace", ctrl_c_off=True)
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press("o", "ctrl+c")
        await pilot.pause()
    assert wire.asked == [Command("off", None, {}, "")]


async def test_the_palette_finds_what_has_no_key() -> None:
    wire = Wire(soaking())
    app = WatchApp(wire, VirtualClock())
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press("ctrl+p", *"longer")
        found = app.screen.query_one(CommandList)
        for _ in range(100):
            await pilot.pause(0.02)
            if found.option_count == 1 and "10 minutes longer" in str(found.get_option_at_index(0).prompt):
                break
        await pilot.press("enter")
        for _ in range(100):
            await pilot.pause(0.02)
            if isinstance(app.screen, Question):
                break
        assert isinstance(app.screen, Question)


async def test_the_palette_begins_with_what_changes_the_heat() -> None:
    """What has no key stood below the fold, behind eight keys that only turn pages."""
    app = WatchApp(Wire(soaking()), VirtualClock())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("ctrl+p")
        found = app.screen.query_one(CommandList)
        for _ in range(100):
            await pilot.pause(0.02)
            if found.option_count > 10:
                break
        prompts = [str(found.get_option_at_index(n).prompt) for n in range(found.option_count)]
        assert "F9" in prompts[0]
        assert any("10 minutes longer" in prompt for prompt in prompts[:5])
        assert any("next step" in prompt for prompt in prompts[:5])


async def test_the_mouse_reaches_off_and_the_keys_shown_and_the_chart_never_takes_the_keys() -> None:
    wire = Wire(heating())
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        app.redraw()
        await pilot.pause()
        column = text_of(app).splitlines()[-1].index("°C/°F")
        await pilot.click("#keys", offset=(column, 0))
        await pilot.pause()
        assert "measured °F" in text_of(app)
        await pilot.click("#curve")
        await pilot.press("u")
        await pilot.pause()
        assert "measured °C" in text_of(app)
        column = text_of(app).splitlines()[-1].index("pages")
        await pilot.click("#keys", offset=(column, 0))
        await pilot.pause()
        assert app.screen.has_class("-page-2"), "each click shows the next page"
        await pilot.click("#keys", offset=(2, 0))
        await pilot.pause()
        assert [c.word for c in wire.asked] == ["off"]


async def test_an_off_from_elsewhere_closes_a_question() -> None:
    wire = Wire(soaking())
    app = WatchApp(wire, VirtualClock())
    async with app.run_test() as pilot:
        await pilot.pause()
        await pilot.press("g")
        await pilot.pause()
        assert isinstance(app.screen, TextEntry)
        wire.put(dataclasses.replace(hot(), state="stopped", outcome="stopped", sequence=10500))
        await pilot.pause()
        assert not isinstance(app.screen, ModalScreen)


async def test_off_works_before_the_first_picture_and_says_so() -> None:
    wire, clock = Wire(), VirtualClock()
    app = WatchApp(wire, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        clock.advance(6.0)
        app.look_again()
        await pilot.pause()
        text = text_of(app)
        assert "Waiting for the controller ... (6 s)" in text
        assert "kilnctl status" in text
        assert "HOT EQUIPMENT" in text
        assert text.splitlines()[-1].startswith(" F9 OFF")
        wire.answers["off"] = Answer(False, "the controller has gone")
        await pilot.press("f9")
        await pilot.pause()
        assert [c.word for c in wire.asked] == ["off"]
        assert "off REFUSED: the controller has gone" in text_of(app)
        wire.put(dataclasses.replace(heating(), published_boot_s=6.0))
        await pilot.pause()
        await pilot.pause()
        assert "measured °C" in text_of(app)
        assert "Waiting for the controller" not in text_of(app)


async def test_alarms_that_nobody_can_answer_any_more_are_offered_once() -> None:
    """The controller has gone: the key stayed in its row, and said "acknowledged" each time."""
    wire = Wire(dataclasses.replace(tripped(), left=True))
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        wire.hang_up()
        for _ in range(100):
            await pilot.pause(0.02)
            if not app.attached:
                break
        app.redraw()
        await pilot.pause()
        assert "a acknowledge" in flat(text_of(app))
        await pilot.press("a")
        app.redraw()
        await pilot.pause()
        assert "a acknowledge" not in flat(text_of(app))


async def test_a_tripped_oven_that_was_reset_says_so() -> None:
    left = dataclasses.replace(tripped(), process_c=31.0, left=True, heat_on=False)
    app = WatchApp(Wire(left), VirtualClock(), reset=_accepts)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert "✖ latched since" in flat(text_of(app))
        await pilot.press("r")
        await pilot.pause()
        await pilot.press("left", "enter")
        await pilot.pause()
        await pilot.press(*"fixed", "enter")
        await pilot.pause()
        app.redraw()
        await pilot.pause()
        said = flat(text_of(app))
        assert "□ cold · tripped, reset" in said
        assert "r reset" not in said
        assert "HEAT IS OFF" not in said


async def _accepts(s: Snapshot, note: str) -> Answer:
    return Answer(True, f"released: {note}")


async def test_one_page_of_help_and_back() -> None:
    app = WatchApp(Wire(heating()), VirtualClock())
    async with app.run_test(size=(120, 100)) as pilot:
        await pilot.pause()
        await pilot.press("question_mark")
        await pilot.pause()
        said = flat(text_of(app))
        for part in ("keys: now", "keys: look", "keys: leave", "colours", "what each limit means"):
            assert part in said
        assert "The oven is hotter than this step allows." in said
        assert "measured °C" in said
        assert "kilnctl guide" in said
        for shown in (False, True):
            await pilot.press("f1")
            await pilot.pause()
            assert ("keys: look" in text_of(app)) is shown


def test_every_limit_has_a_meaning() -> None:
    """The list of interlocks is the other side: one that is added must be explained."""
    assert {i.kind for i in INTERLOCKS} == set(MEANINGS)


def test_the_far_view_counts_up_how_long_a_quench_has_waited() -> None:
    s = ready()
    assert s.waiting is not None
    view = View(dataclasses.replace(s, elapsed_s=s.waiting.since_s + 45.0))
    text = big_views.far(view, 120, 28).plain
    assert any(big("FOR 45 S", scale)[0].strip() in text for scale in (1, 2, 3))
    assert "SPACE leaves furnace" in flat(key_row(view, None, 120).plain)
