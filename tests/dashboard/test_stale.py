"""A frozen picture cannot pass for a live one; a controller that goes and comes back is seen to."""

import asyncio
import dataclasses
from functools import cache

import pytest
from dashboard.feed import (
    Wire,
    cold,
    flat,
    heating,
    hot,
    ready,
    soaking,
    tempering,
    text_of,
    tripped,
    until,
)
from textual.strip import Strip

from kilnctl.clock import VirtualClock
from kilnctl.dashboard.app import WatchApp
from kilnctl.dashboard.drawing import theme
from kilnctl.dashboard.drawing.big_font import big
from kilnctl.dashboard.panels import big_band, header, heat_panel, limits_panel, todo
from kilnctl.dashboard.panels.curve import HeatCurve
from kilnctl.dashboard.sound import bell_every_s
from kilnctl.dashboard.view_state import CutInstead, View
from kilnctl.errors import RecordError
from kilnctl.link.snapshot import Answer, Snapshot


@cache
def aged() -> dict[float, tuple[str, bool]]:
    """Return what one screen says as its picture grows old, by its age in s, and whether it is grey."""
    return asyncio.run(_aged(2.9, 3.0, 10.0, 20.0))


async def _aged(*ages_s: float) -> dict[float, tuple[str, bool]]:
    clock, said = VirtualClock(), {}
    app = WatchApp(Wire(heating()), clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for age_s in ages_s:
            clock.advance(age_s - clock.boot_s())
            app.look_again()
            await pilot.pause()
            said[age_s] = (flat(text_of(app)), app.screen.has_class("-grey"))
        rows = app.screen.query_one(HeatCurve).rows
    assert any(run.text.strip() for row in rows for run in row)
    assert {run.style for row in rows for run in row} == {"quiet"}, "an old chart is one quiet grey"
    return said


def test_a_fresh_picture_says_its_age() -> None:
    said, grey = aged()[2.9]
    assert "live 3 s" in said
    assert not grey


def test_grey_at_three_seconds() -> None:
    """Grey at 3 s, banner and sound at 10 s: the numbers that the job asks for."""
    said, grey = aged()[3.0]
    assert "OLD: 3 s, from" in said
    assert "was 742, 3 s ago" in said
    assert "no data, was heating" in said
    assert "left" not in said.partition("You:")[2]
    assert grey
    assert "NO NEW DATA" not in said


async def test_an_old_picture_is_one_quiet_grey_below_a_red_word() -> None:
    """Nobody may act on an old call; that there is no data is read at three metres, where grey is no word."""
    clock = VirtualClock()
    app = WatchApp(Wire(ready()), clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        drawn = {}
        for age_s in (0.0, 3.0):
            clock.advance(age_s)
            app.redraw()
            await pilot.pause()
            strips = app.screen._compositor.render_strips()
            assert (big("NO DATA")[1] in strips[3].text) is (age_s == 3.0)
            drawn[age_s] = [_colours(strips[n]) for n in (*range(2, 6), *range(-6, -3))]
    colours = theme.themes()[0].variables
    assert any(colours["urgent"] in row for row in drawn[3.0][:4])
    assert all(row <= {colours["quiet"]} for row in drawn[3.0][4:])
    assert len(set().union(*drawn[0.0])) >= 3


def _colours(strip: Strip) -> set[str]:
    styles = [seg.style for seg in strip if seg.style and seg.text.strip()]
    return {style.color.get_truecolor().hex for style in styles if style.color}


def test_an_old_picture_promises_nothing_before_its_banner_either() -> None:
    """From 3 s to 10 s it went on with "nothing to do now" and "soak in 17 min" below a red NO DATA."""
    said, _ = aged()[3.0]
    assert "nothing to do now" not in said
    assert "Next:" not in said
    assert "You: wait for new data; if none comes, go and look at the oven." in said


def test_banner_at_ten_seconds() -> None:
    """The banner takes rows from the chart in the same moment, which is drawn in one grey (above)."""
    said, _ = aged()[10.0]
    assert "NO NEW DATA FOR 10 s." in said
    assert "The heat may be on: look at the oven; isolator: red switch beside the workshop door." in said
    assert "HOT EQUIPMENT" in said


async def test_a_suspend_of_the_computer_makes_the_picture_old() -> None:
    clock = VirtualClock()
    app = WatchApp(Wire(heating()), clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        clock.suspended_s = 2400.0
        app.look_again()
        await pilot.pause()
        assert "NO NEW DATA FOR 2400 s" in flat(text_of(app))


async def test_the_controller_goes_and_comes_back() -> None:
    wire, clock = Wire(heating()), VirtualClock()
    app = WatchApp(wire, clock)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        wire.hang_up()
        await pilot.pause()
        said = flat(text_of(app))
        assert "THE CONTROLLER HAS GONE." in said
        assert "NO CONNECTION, last" in said
        await until(pilot, lambda: wire.attached == 2)
        clock.advance(2.0)
        wire.put(dataclasses.replace(heating(), process_c=750.0, published_boot_s=2.0))
        await until(pilot, lambda: app.attached)
        app.look_again()
        await pilot.pause()
        assert "GONE" not in text_of(app)


@pytest.mark.parametrize(
    ("last", "quiet"),
    [
        (cold(), True),
        (dataclasses.replace(cold(), state="stopped", cause="off by pts/2"), True),
        (hot(), True),
        (dataclasses.replace(hot(), heat_on=None), False),
        (dataclasses.replace(hot(), state="tripped", word="tripped", trip="stuck"), False),
        (dataclasses.replace(cold(), heat_on=True), False),
        (dataclasses.replace(heating(), process_c=30.0), False),
    ],
    ids=["complete", "stopped", "off but hot", "relay unknown", "tripped hot", "relay on", "in a heat"],
)
def test_a_controller_that_leaves_after_a_sound_end_is_no_call(last: Snapshot, quiet: bool) -> None:
    """On a cold oven, or after a person's off; anything else may mean that the heat is on."""
    view = View(last, age_s=400.0, attached=False)
    painted = (
        header.header(view, 80),
        header.banner(view, 80),
        big_band.band(view, 80, 6),
        todo.now(view, 80),
    )
    said = flat(" ".join(part.plain for part in painted))
    assert ("THE CONTROLLER HAS GONE" in said) is not quiet
    assert ("nothing is watching it now" in said) is quiet
    assert ("it was HOT (412 °C at" in said) is (quiet and last.process_c == 412.0)
    assert ("ENDED, last" in said) is quiet
    assert (bell_every_s(view) is not None) is not quiet
    if quiet:
        assert (f"ENDED: {last.cause}." if last.cause else "The heat is over: complete.") in said
        assert "q leaves this screen" in said
        assert "was, 7 min ago" in said


@pytest.mark.parametrize(
    ("cut", "now"),
    [
        (CutInstead(), "heat unknown"),
        (CutInstead("killed", {"hardening-furnace": False}), "heat unknown"),
        (CutInstead("killed", {"hardening-furnace": True}), "heat off, read back since"),
    ],
)
def test_the_heat_of_an_old_picture_is_what_it_was_and_not_what_it_is(cut: CutInstead, now: str) -> None:
    """After a kill of the controller it went on showing "100 %, relay ON"."""
    last = dataclasses.replace(heating(), duty=1.0, heat_on=True)
    live = heat_panel.heat(View(last), 40, 6).plain
    assert "100 %  relay ON" in live
    old = View(last, age_s=34.0, attached=False, cut=cut)
    rows = heat_panel.heat(old, 40, 6).plain.splitlines()
    assert rows[1].strip() == now
    assert rows[2].strip() == "34 s ago: 100 %, relay ON"
    assert "limits, 34 s ago" in limits_panel.limits(old, 60, 6).plain
    assert "34 s ago" in limits_panel.limit_page(old, 80).plain


@pytest.mark.parametrize(
    "how", ["off by anna at terminal 3", "off was asked at 13:14:02 by anna at terminal 3"]
)
@pytest.mark.parametrize("read_back", [True, False, None])
def test_an_off_from_another_terminal_is_said_in_the_next_picture(read_back: bool | None, how: str) -> None:
    """Whoever looked at the screen saw a state word change, and a cause in small words behind it."""
    ended = dataclasses.replace(hot(), state="stopped", cause=how, off_read_back=read_back)
    said = flat(todo.now(View(ended), 80).plain)
    assert f"ENDED: {how}." in said
    assert ("The heat is off, read back." in said) is (read_back is True)
    assert "q leaves this screen." in said
    assert "q leaves" not in flat(todo.now(View(ended, web=True), 80).plain)


async def test_a_screen_rings_when_its_controller_leaves_a_heat_and_not_when_it_leaves_a_cold_oven() -> None:
    wire, clock, rung = Wire(cold()), VirtualClock(), []
    app = WatchApp(wire, clock)
    app.bell = lambda: rung.append(1)  # type: ignore[method-assign]
    async with app.run_test(size=(80, 24)) as pilot:
        for last, quiet in ((cold(), True), (heating(), False)):
            wire.put(dataclasses.replace(last, sequence=50_000, published_boot_s=clock.boot_s()))
            await pilot.pause()
            wire.hang_up()
            await pilot.pause()
            clock.advance(400.0)
            app.look_again()
            await pilot.pause()
            assert ("THE CONTROLLER HAS GONE" in flat(text_of(app))) is not quiet
            assert bool(rung) is not quiet
            await until(pilot, lambda: wire.attached == 2)


async def test_an_oven_that_its_controller_has_left_is_no_call_while_it_runs_another() -> None:
    wire, clock, rung = Wire(tempering()), VirtualClock(), []
    app = WatchApp(wire, clock, oven=cold().oven)
    app.bell = lambda: rung.append(1)  # type: ignore[method-assign]
    async with app.run_test(size=(80, 24)) as pilot:
        wire.put(dataclasses.replace(cold(), left=True))
        await pilot.pause()
        clock.advance(400.0)
        wire.put(dataclasses.replace(tempering(), sequence=5000, published_boot_s=400.0))
        await pilot.pause()
        app.look_again()
        await pilot.pause()
        said = flat(text_of(app))
        assert "NO NEW DATA" not in said
        assert "ENDED, last" in said
        assert "nothing is watching it now" in said
        assert not rung
        await pilot.press("o")
        await pilot.pause()
        said = flat(text_of(app))
        row = app.screen._compositor.render_strips()[1]
        assert not any(seg.style.reverse for seg in row if seg.style), "it is nothing abnormal"
    assert "hardening-furnace □ cold" in said
    assert "OLD" not in said


async def test_what_the_supervisor_did_is_said_and_off_keeps_its_answer() -> None:
    wire, clock, since = Wire(heating()), VirtualClock(), []

    def last_words(utc: str) -> CutInstead:
        since.append(utc)
        return CutInstead(
            "the controller was killed; heat is off, read back: hardening-furnace",
            {"hardening-furnace": True},
        )

    wire.answers["off"] = Answer(False, "nobody answers")
    app = WatchApp(wire, clock, last_words=last_words)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        wire.hang_up()
        await until(pilot, lambda: "GONE" in text_of(app))
        said = flat(text_of(app))
        assert "killed; heat is off, read back: hardening-furnace. Look at the oven; isolator: red" in said
        assert "The heat may be on" not in said
        assert since[0] == heating().utc
        assert app.view is not None
        assert bell_every_s(app.view) == 5.0
        await pilot.press("f9")
        attempts = wire.attached
        wire.hang_up()
        await until(pilot, lambda: wire.attached > attempts)
        assert "off REFUSED: nobody answers" in flat(text_of(app)), "no later attempt has taken its place"
        await pilot.press("a")
        await pilot.pause()
        assert bell_every_s(app.view) is None
        assert "silent until new data comes" in flat(text_of(app))
        clock.advance(2.0)
        wire.put(dataclasses.replace(heating(), sequence=2, published_boot_s=2.0))
        await until(pilot, lambda: app.attached)
        clock.advance(11.0)
        assert bell_every_s(app.view) == 5.0, "another old picture is another call"


@pytest.mark.parametrize(
    ("last", "read_back", "style", "first"),
    [
        (heating(), {"hardening-furnace": True}, "soon", "THE CONTROLLER HAS GONE."),
        (heating(), {"hardening-furnace": False}, "urgent", "OFF IS NOT CONFIRMED. CUT THE POWER NOW: red"),
        (heating(), {"hardening-furnace": True, "other": False}, "urgent", "OFF IS NOT CONFIRMED."),
        (heating(), {"other": True}, "urgent", "THE CONTROLLER HAS GONE."),
        (heating(), {}, "urgent", "THE CONTROLLER HAS GONE."),
        (tripped(), {"hardening-furnace": True}, "soon", "THE CONTROLLER HAS GONE."),
        (
            dataclasses.replace(tripped(), still_on=True),
            {"hardening-furnace": True},
            "urgent",
            "THE CONTROLLER",
        ),
    ],
)
def test_only_an_off_that_was_read_back_turns_red_to_amber(
    last: Snapshot, read_back: dict[str, bool], style: str, first: str
) -> None:
    """Any last words once made the banner amber, also "NOT read back as off. Cut the power by hand"."""
    v = View(last, age_s=20.0, attached=False, cut=CutInstead("the controller was killed", read_back))
    said = header.banner(v, 200)
    assert said.plain.removeprefix("▲ ").startswith(first)
    assert {str(span.style).rpartition("$")[2] for span in said.spans} == {style}
    assert v.face.big == "NO DATA"
    assert v.face.style == style
    asked = todo.now(v, 200).plain
    if not last.trip:
        assert ("You: cut the power now: red switch" in asked) is first.startswith("OFF IS NOT"), asked


@pytest.mark.parametrize(
    ("cut", "still_on", "said", "unsaid"),
    [
        (CutInstead(), False, "OFF IS NOT CONFIRMED. CUT THE POWER NOW", "HEAT IS OFF"),
        (CutInstead("gone", {"hardening-furnace": True}), False, "HEAT IS OFF, read back.", "NOT CONFIRMED"),
        (CutInstead("gone", {"hardening-furnace": True}), True, "THE HEAT IS STILL ON. CUT", "HEAT IS OFF"),
    ],
)
def test_a_trip_whose_off_was_read_back_later_does_not_ask_for_hands_beside_saying_so(
    cut: CutInstead, still_on: bool, said: str, unsaid: str
) -> None:
    """A cable was out and plugged in again: "heat is off, read back" stood over "CUT THE POWER NOW".

    Nobody measures it then: if in doubt the power is cut, and not only when it is seen to get hotter.
    """
    lost = dataclasses.replace(tripped(), trip_kind="link_lost", off_read_back=None, still_on=still_on)
    v = View(lost, age_s=20.0, attached=False, cut=cut)
    todo_said, small = flat(todo.now(v, 200).plain), flat(header.too_small(v, 60, 10, (80, 24)).plain)
    for words_ in (todo_said, small):
        assert said in words_
        assert unsaid not in words_
        assert ("no reading to show it cooling; if in doubt, cut the power" in words_) is (said[:4] == "HEAT")
    assert (header.action_of(v) == "") is (said[:4] == "HEAT")
    assert v.face.style == ("soon" if said[:4] == "HEAT" else "urgent")


@pytest.mark.parametrize(
    ("last", "said"),
    [
        (
            dataclasses.replace(hot(), state="stopped", off_read_back=True),
            "The heat was off, read back: look at",
        ),
        (dataclasses.replace(hot(), state="stopped", heat_on=None), "The heat may be on: look at the oven"),
        (heating(), "The heat may be on: look at the oven"),
        (tripped(), "The heat may be on: look at the oven"),
    ],
    ids=["read back", "relay unknown", "in a heat", "tripped"],
)
def test_an_old_picture_of_an_off_that_was_read_back_does_not_say_that_the_heat_may_be_on(
    last: Snapshot, said: str
) -> None:
    """The controller hung after an off from another terminal: amber, and yet "The heat may be on"."""
    v = View(last, age_s=20.0)
    assert said in flat(header.banner(v, 200).plain)
    assert ("heat was off, read back" in flat(heat_panel.heat(v, 40, 6).plain)) is ("read back" in said)


def test_words_about_another_oven_leave_what_is_to_be_feared_of_this_one() -> None:
    cut = CutInstead("heat is off, read back since: other", {"other": True})
    said = flat(header.banner(View(heating(), age_s=20.0, attached=False, cut=cut), 300).plain)
    assert "Heat is off, read back since: other. The heat may be on: look at the oven;" in said
    cut = CutInstead("heat is off, read back since: hardening-furnace", {"hardening-furnace": True})
    said = flat(header.banner(View(heating(), age_s=20.0, attached=False, cut=cut), 300).plain)
    assert "Heat is off, read back since: hardening-furnace. Look at the oven;" in said


async def test_a_logbook_that_cannot_be_read_does_not_stop_the_screen() -> None:
    def past(run: int) -> object:
        raise RecordError("the logbook is from a newer kilnctl; update this one")

    app = WatchApp(Wire(heating()), VirtualClock(), load_past=past)  # type: ignore[arg-type]
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: "newer kilnctl" in text_of(app))
        assert "(only since attached)" in text_of(app)
        assert "▲ heating" in text_of(app)


async def test_acknowledging_silences_until_something_new_comes() -> None:
    wire = Wire(tripped())
    wire.answers["acknowledge"] = Answer(False, "the heat is over")
    app = WatchApp(wire, VirtualClock())
    async with app.run_test() as pilot:
        await pilot.pause()
        assert app.view is not None
        assert bell_every_s(app.view) == 2.0
        await pilot.press("a")
        assert bell_every_s(app.view) is None
        wire.put(dataclasses.replace(tripped(), trip="measured 1102 °C is above the limit"))
        await pilot.pause()
        assert bell_every_s(app.view) == 2.0


async def test_the_bell_is_heard_when_the_quench_is_ready() -> None:
    rung: list[str] = []
    clock = VirtualClock()
    wire = Wire(soaking())
    app = WatchApp(wire, clock)
    app.bell = lambda: rung.append(app.view.s.word if app.view else "")  # type: ignore[method-assign]
    async with app.run_test() as pilot:
        await pilot.pause()
        app.look_again()
        assert rung == ["soaking"], "T-10 is called once"
        wire.put(dataclasses.replace(ready(), published_boot_s=0.0))
        await pilot.pause()
        for _ in range(8):  # four seconds of the app's half-second looks
            clock.advance(0.5)
            app.look_again()
        assert rung.count("ready to quench") in (2, 3), rung
