"""What one glance must give: the next event in large letters, the curve read by cursor, answers in place."""

import dataclasses

import pytest
from dashboard.feed import (
    Wire,
    cold,
    curve_c,
    flat,
    heating,
    hot,
    lost,
    ready,
    soaking,
    tempering,
    text_of,
    tripped,
)
from textual.pilot import Pilot
from textual.widget import Widget

from kilnctl.cli.heat import follow_job
from kilnctl.cli.watch import status
from kilnctl.clock import VirtualClock
from kilnctl.dashboard import formatting as words
from kilnctl.dashboard.app import WatchApp
from kilnctl.dashboard.drawing.big_font import big
from kilnctl.dashboard.panels import todo
from kilnctl.dashboard.panels.big_band import coming
from kilnctl.dashboard.panels.curve import HeatCurve
from kilnctl.dashboard.panels.header import header
from kilnctl.dashboard.view_state import View
from kilnctl.link.snapshot import Answer, Snapshot


async def shown(app: WatchApp, pilot: Pilot[None], wire: Wire, *snapshots: Snapshot) -> str:
    for snapshot in snapshots:
        wire.put(snapshot)
    await pilot.pause()
    for _ in range(2):
        app.redraw()
        await pilot.pause()
    return text_of(app)


@pytest.mark.parametrize(
    ("view", "said"),
    [
        (View(heating()), ("soak in", "17 MIN")),
        (View(soaking()), ("quench in", None)),
        (View(tempering()), ("cool in", "1 H 23")),
        (View(ready()), ("answer within", "5 MIN")),
        (View(heating(), age_s=9.0), ("", "")),
        (View(tripped()), ("", "")),
        (View(cold()), ("", "")),
        (View(dataclasses.replace(heating(), quality="sensor open")), ("", "")),
    ],
)
def test_the_next_event_has_a_name_and_a_time_or_nothing_is_claimed(
    view: View, said: tuple[str, str | None]
) -> None:
    caption, number = coming(view)
    assert caption == said[0]
    assert said[1] is None or number == said[1]


@pytest.mark.parametrize(("width", "height"), [(80, 24), (120, 40)])
async def test_the_next_event_stands_beside_the_state_where_there_is_room(width: int, height: int) -> None:
    wire = Wire()
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(width, height)) as pilot:
        rows = (await shown(app, pilot, wire, heating())).splitlines()
        there = all(line.rstrip() in row for line, row in zip(big("17 MIN", 1), rows[2:], strict=False))
        assert there == (width >= 120)
        assert ("soak in" in rows[1]) == (width >= 120)


async def test_the_curve_is_read_by_keys_and_by_mouse() -> None:
    """The invented heat is a formula, so what the cursor says is judged by it."""
    wire = Wire()
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(120, 40)) as pilot:
        past = [
            dataclasses.replace(heating(), elapsed_s=float(t), process_c=round(curve_c(t), 1))
            for t in range(1, 10400, 20)
        ]
        await shown(app, pilot, wire, *past, heating())
        await pilot.press("left")
        assert "at 2:53" in flat(text_of(app))  # the newest first: 10400 s
        await pilot.press(*4 * ["shift+left"])
        title = next(row for row in text_of(app).splitlines() if " at " in row and "measured" in row)
        at, measured = title.split(" at ")[1].split()[0], float(title.split("measured ")[1].split()[0])
        seconds = int(at.split(":")[0]) * 3600 + int(at.split(":")[1]) * 60
        assert min(abs(measured - curve_c(seconds + more)) for more in range(0, 60, 5)) < 1.0
        await pilot.press("escape")
        assert " at 2:" not in flat(text_of(app))
        await pilot.hover("#curve", offset=(40, 5))
        await pilot.pause()
        assert "measured " in flat(text_of(app))
        assert app.cursor_s is not None


async def test_a_chart_that_is_asked_for_three_times_before_its_layout_stands_is_drawn_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    drawn: list[str] = []
    app = WatchApp(Wire(heating()), VirtualClock())
    async with app.run_test(size=(120, 35)) as pilot:
        await pilot.pause()
        monkeypatch.setattr(HeatCurve, "draw", lambda self, s, *others: drawn.append(s.oven))
        for expected in (1, 2):
            for _ in range(3):
                app.redraw_soon()
            await pilot.pause()
            assert len(drawn) == expected


async def test_an_answer_moves_nothing() -> None:
    wire = Wire()
    wire.answers["acknowledge"] = Answer(False, "there is no alarm that could be acknowledged " * 3)
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(80, 24)) as pilot:
        await shown(app, pilot, wire, soaking())

        def places() -> dict[str, object]:
            widgets = app.screen.query(Widget)
            return {str(w.id): w.region for w in widgets if w.id and w.id != "answer" and w.display}

        before = places()
        app.say("there is no alarm that could be acknowledged " * 3)
        await pilot.pause()
        text = flat(text_of(app))
        assert "there is no alarm" in text
        assert places() == before
        assert "HOT EQUIPMENT" in text, "an answer never covers the caution"
        assert "F9 OFF" in text
        app.say("copied")
        await pilot.pause()
        (row,) = [row for row in text_of(app).splitlines() if "copied" in row]
        assert len(row.split()) > 1, "a short answer leaves what stands beside it"


async def test_at_ready_the_time_waited_fills_the_free_rows() -> None:
    wire = Wire()
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(80, 24)) as pilot:
        late = ready()
        assert late.waiting is not None
        late = dataclasses.replace(late, elapsed_s=late.waiting.since_s + 35.0)
        rows = (await shown(app, pilot, wire, late)).splitlines()
        assert any(
            all(a in b for a, b in zip(big("35 S", 1), rows[i:], strict=False)) for i in range(6, 20)
        ) or (any(all(a in b for a, b in zip(big("35 S", 2), rows[i:], strict=False)) for i in range(6, 20)))
        assert "799" not in flat("\n".join(rows[8:])), "the curve has given way"


async def test_a_click_on_plan_limits_or_alarms_opens_what_they_have_to_say() -> None:
    wire = Wire()
    app = WatchApp(wire, VirtualClock())
    opens = (("#plan", 3, "Quench in warm oil"), ("#limits", 4, "Two sensors"), ("#heat", 5, "No alarms"))
    async with app.run_test(size=(80, 24)) as pilot:
        await shown(app, pilot, wire, heating())
        assert app.base is not None
        for panel, page, said in opens:
            await pilot.click(panel)
            await pilot.pause()
            assert app.base.has_class(f"-page-{page}"), panel
            assert said in flat(text_of(app))
            await pilot.press("1")
            await pilot.pause()


async def test_without_a_reading_no_time_is_promised() -> None:
    """The plan waits for the sensor: a clock time that stands still would be believed."""
    wire = Wire()
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(120, 40)) as pilot:
        good = await shown(app, pilot, wire, heating())
        assert words.later_time(heating(), 1660.0) in good, "when the soak ends"
        said = await shown(app, pilot, wire, lost())
        assert "the plan waits for a reading" in said
        for ahead_s in (1660.0, 1960.0):
            assert words.later_time(lost(), ahead_s) not in said
        assert " left" not in flat(said)


def test_a_goal_that_is_not_foreseen_to_be_reached_is_said_so() -> None:
    """A time was promised above a curve that never got there."""
    s = dataclasses.replace(
        heating(), segment_left_s=None, total_left_s=None, end_utc="", next_words="soak at 800"
    )
    said = flat(todo.now(View(s), 100).plain)
    assert "Next: soak at 800. As it heats now it is not predicted to get there." in said
    assert "not predicted" not in todo.now(View(dataclasses.replace(s, prediction=())), 100).plain
    assert "not predicted" not in todo.now(View(heating()), 100).plain


def test_a_recording_has_no_plan_that_could_wait() -> None:
    """ "Next: the plan waits for a reading" stood under "no plan"."""
    blind = dataclasses.replace(heating(), segment=None, segments=(), quality="no reply", only_watched=True)
    assert "Next: recording waits for a reading." in flat(todo.now(View(blind), 80).plain)
    assert any("recording waits for a reading" in line for line in status.lines(blind))
    assert "recording waits for a reading" in follow_job.live_line(blind)


async def test_after_the_heat_a_person_is_told_what_is_left_to_do() -> None:
    wire = Wire()
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(120, 40)) as pilot:
        assert "take the part out" in flat(await shown(app, pilot, wire, cold()))
        assert "take the part out" not in flat(
            await shown(app, pilot, wire, dataclasses.replace(hot(), elapsed_s=50_000.0))
        )


def test_a_latched_oven_that_is_cold_asks_for_the_cause_and_alarms_nobody() -> None:
    """Hours after the trip it went on in red with "if it still gets hotter" and the fire line."""
    cold_latch = View(dataclasses.replace(tripped(), process_c=31.0, left=True, heat_on=False))
    said = todo.now(cold_latch, 200)
    assert "HEAT IS OFF, read back. Cold at 13:14." in said.plain.replace(
        words.clock_time(cold_latch.s.utc), "13:14"
    )
    assert "the relay may be stuck closed" in said.plain
    assert "You: find and mend the cause, then r resets the latch." in said.plain
    assert "Fire or smoke" not in said.plain
    assert not any("urgent" in str(span.style) for span in said.spans)
    for s in (
        dataclasses.replace(cold_latch.s, process_c=90.0),
        dataclasses.replace(cold_latch.s, off_read_back=None),
    ):
        assert "Fire or smoke" in todo.now(View(s), 200).plain, "hot, or not proven off"


def test_the_part_has_its_name_in_the_first_row() -> None:
    """Two gouges of one recipe once looked alike on the screen."""
    v = View(dataclasses.replace(heating(), part="gouge-7", simulated=False))
    assert "gouge-7 · gouge-o1-harden · run 12 · O1" in header(v, 78).plain
    long = dataclasses.replace(heating(), part="commission of the Hollis workshop, lot 3")
    assert "gouge-o1-harden" in header(View(long), 78).plain, "a name that has no room leaves the rest"
