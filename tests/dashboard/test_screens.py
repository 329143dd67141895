"""Every state at every size: the words that matter are there, whole, and in the same place."""

import asyncio
import dataclasses
from functools import cache

import pytest
from dashboard.feed import (
    STATES,
    Wire,
    flat,
    heating,
    held,
    lost,
    ready,
    soaking,
    tempering,
    text_of,
    tripped,
    waiting,
)
from rich.color import Color, ColorSystem
from textual.pilot import Pilot
from textual.theme import Theme

from kilnctl.clock import VirtualClock
from kilnctl.dashboard import formatting as words
from kilnctl.dashboard.app import WatchApp
from kilnctl.dashboard.drawing import theme as look
from kilnctl.dashboard.drawing.big_font import big, height_of, on_plate
from kilnctl.dashboard.panels import heat_panel, limits_panel, plan_panel
from kilnctl.dashboard.panels.big_band import band_scale, band_starts
from kilnctl.dashboard.view_state import View
from kilnctl.interlocks.alarms import AlarmState
from kilnctl.letters import alike
from kilnctl.link.snapshot import Snapshot

BUTTONS = ("Leave it latched", "Reset ")
SIZES = [(80, 24), (120, 35), (200, 60)]
LARGEST = ("heating", "ready", "tripped", "cold", "lost")


async def show(app: WatchApp, pilot: Pilot[None], wire: Wire, snapshot: Snapshot) -> str:
    """Let the controller publish a picture and return what the screen says."""
    wire.put(snapshot)
    await pilot.pause()
    app.redraw()
    await pilot.pause()
    return text_of(app)


def shows_big(text: str, word: str, width: int, height: int) -> bool:
    """Return whether a word stands in the band in big letters."""
    scale = band_scale(width - 2, 10 if (width >= 160 and height >= 45) else 6)
    rows, air = text.splitlines()[2:], scale > 1  # below header and captions
    plain, plate = big(word, scale), on_plate(word, scale, height_of(scale) + air)
    looks = (plain, rows[air:]), (plate, rows)
    return any(all(p.rstrip() in row for p, row in zip(part, at, strict=False)) for part, at in looks)


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_every_state_is_whole_at_every_size(size: tuple[int, int]) -> None:
    """The same thing is in the same place in every state, too."""
    width = size[0] - 2  # no letter touches the edge
    starts = [
        1 + start for start in band_starts(width, band_scale(width, 10 if size == (200, 60) else 6), "888")
    ]
    wire = Wire()
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=size) as pilot:
        for name, state in STATES.items():
            if size == SIZES[-1] and name not in LARGEST:  # where there is most room, one of each look
                continue
            s = dataclasses.replace(state(), run=hash(name))
            text = await show(app, pilot, wire, s)
            said, face, rows = flat(text), words.face(s), text.splitlines()
            assert rows[1].index("measured °C") == starts[1], name
            assert s.goal_c is None or rows[1].index("goal °C") == starts[2], name
            assert not any(row[-1].strip() for row in rows if "│" not in row[-1:]), (name, text)
            assert rows[-1].startswith(" F9 OFF"), name
            assert f"{face.shape} {words.state_word(s)}" in said, name
            assert shows_big(text, face.big, *size), (name, text)
            assert shows_big(text, words.Degrees().number(s.process_c), *size), name
            assert s.goal_c is None or shows_big(text, words.Degrees().number(s.goal_c), *size), name
            assert flat(words.caution(s.isolator)) in said, name
            assert "…" not in text, (name, text)
            app.gallery.newest.clear()
            app.gallery.oven = None


async def seen(snapshot: Snapshot, size: tuple[int, int] = (80, 24), *keys: str) -> str:
    """Return what a fresh screen says of one picture after some keys."""
    app = WatchApp(Wire(snapshot), VirtualClock())
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        await pilot.press(*keys)
        app.redraw()
        await pilot.pause()
        return text_of(app)


async def seen_after(snapshot: Snapshot, size: tuple[int, int], *keys: str) -> list[str]:
    """Return what one screen says of a picture after each of some groups of keys."""
    app, said = WatchApp(Wire(snapshot), VirtualClock()), []
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        for pressed in keys:
            await pilot.press(*pressed)
            app.redraw()
            await pilot.pause()
            said.append(text_of(app))
    return said


LEFT_S = {660.0: "", 600.0: "oil, lid", 121.0: "oil, lid", 120.0: "gloves on", 1.0: "gloves on"}
WAITED_S = {0.0: "READY", 299.0: "READY", 300.0: "LATE", 599.0: "LATE"}
STEP, LOAD = ready().waiting, waiting().waiting
assert STEP is not None
assert LOAD is not None
TEN_MIN = dataclasses.replace(STEP, since_s=12060.0, deadline_s=12660.0)
OVER = dataclasses.replace(
    held().alarms[0],
    state=str(AlarmState.GONE),
    reason="the door has been open for 14 s; heat off until it is shut",
)
PICTURES: dict[str, Snapshot] = {
    "tripped": tripped(),
    **{f"{left_s} left": dataclasses.replace(soaking(), segment_left_s=left_s) for left_s in LEFT_S},
    **{f"{s} waited": dataclasses.replace(ready(), waiting=TEN_MIN, elapsed_s=12060.0 + s) for s in WAITED_S},
    "ready": ready(),
    "door switch": dataclasses.replace(ready(), waiting=dataclasses.replace(STEP, element_isolated=True)),
    "hot step": dataclasses.replace(waiting(), waiting=dataclasses.replace(LOAD, heat_on_meanwhile=True)),
    "held": held(),
    "ready, alarm": dataclasses.replace(ready(), alarms=held().alarms),
    "soaking, alarm": dataclasses.replace(soaking(), alarms=held().alarms),
    "alarm over": dataclasses.replace(STATES["heating"](), alarms=(OVER,)),
    "lost": lost(),
    "hot, blind": dataclasses.replace(STATES["hot"](), process_c=None, quality="sensor open"),
    "tempering": tempering(),
    "recording, door": dataclasses.replace(
        STATES["cold"](), state="held", word="cold", segment=0, only_watched=True
    ),
}


def said_of(name: str) -> str:
    """Return what a screen of 80 x 24 says of a picture, on one line."""
    return flat(texts()[name])


@cache
def texts() -> dict[str, str]:
    """Return what a screen of 80 x 24 says of each picture; one screen shows them all."""
    return asyncio.run(_said_of_all())


async def _said_of_all() -> dict[str, str]:
    wire, texts = Wire(), {}
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(80, 24)) as pilot:
        for name, s in PICTURES.items():
            app.gallery.newest.clear()
            app.gallery.oven = s.oven
            texts[name] = await show(app, pilot, wire, s)
    return texts


def test_a_trip_says_what_happened_and_what_to_do() -> None:
    """The words are those that the project's cautions fix for a trip."""
    said = said_of("tripped")
    assert flat(words.trip_words(tripped())) in said
    assert "HEAT IS OFF, read back. heat is 0.41 of full power above what was asked" in said
    assert "cut the power: red switch beside the workshop door" in said
    assert "Fire or smoke: leave, close the door, call your local emergency number." in said
    assert "a acknowledge" in said
    assert "r reset" in said
    assert "▲ Unexplained heat" in said


async def test_the_first_cause_is_named_on_the_alarm_page() -> None:
    said = flat(await seen(tripped(), (80, 24), "5"))
    assert "◆ urgent · not acknowledged · FIRST CAUSE" in said
    assert "measured is 14 K above the plan." in said
    assert "● later · acknowledged" in said


def test_the_quench_is_called_early_but_not_eleven_minutes_before() -> None:
    for left_s, word in LEFT_S.items():
        call = f"◆ QUENCH IN {words.left(left_s).upper()} Have ready: {word}" if word else "nothing to do now"
        assert call in said_of(f"{left_s} left")


def test_ready_turns_late_half_way_to_the_end() -> None:
    """READY 14:00, LATE 14:05, heat off 14:10: a longest wait of ten minutes, as the job has it."""
    for waited_s, word in WAITED_S.items():
        text = said_of(f"{waited_s} waited")
        assert f"◆ {word}" in text
        assert "SPACE as it leaves the furnace" in text
        assert "the run ends" in text


def test_without_a_door_switch_the_element_is_not_isolated() -> None:
    without, with_ = said_of("ready"), said_of("door switch")
    assert "The heat is off, but the element is NOT isolated" in without
    assert "NOT isolated" not in with_
    assert "door switch" in with_


def test_a_step_with_heat_says_that_the_heat_is_on() -> None:
    said = said_of("hot step")
    assert "The heat is ON while you wait." in said
    assert "if you do not answer, the heat goes off and the run ends" in said


def test_a_door_that_is_open_in_a_recording_is_said_as_in_a_heat() -> None:
    """In a heat the screen said so; in a recording neither page 1 nor `status` did."""
    assert "the door is open; nothing is heated, recording goes on." in said_of("recording, door")
    assert "the door is open" not in said_of("held").replace("the door has been open", "")


def test_an_open_alarm_is_the_thing_to_do() -> None:
    said = said_of("held")
    assert "▲ ALARM the door has been open for 14 s, heat off until it is shut. a acknowledges it." in said


def test_an_alarm_is_not_hidden_by_a_step_nor_by_a_quench_to_come() -> None:
    for said in (said_of("ready, alarm"), said_of("soaking, alarm")):
        assert "▲ ALARM the door has been open" in said
        assert "◆" in said


def test_an_alarm_that_is_over_says_so_and_leaves_what_is_to_do() -> None:
    """It once read "at 120 s the run ends" for hours after the door was shut, in place of what to do."""
    said = said_of("alarm over")
    assert "▲ ALARM OVER the door has been open for 14 s; over now. a acknowledges it." in said
    assert "heat off until" not in said
    assert "You: nothing to do now." in said
    assert "(over)" in said


def test_a_lost_sensor_shows_no_number() -> None:
    text, said = texts()["lost"], said_of("lost")
    assert "no reading: sensor open" in said
    assert "relay unknown" in said
    assert "/ no reading" in said, "it does not claim to heat"
    assert shows_big(text, "SENSOR", 80, 24)
    assert "Ends" not in said
    said = said_of("hot, blind")
    assert "△ off but hot" in said
    assert "it is HOT, and there is no reading to say how hot" in said


async def test_a_temper_shows_both_soak_clocks_and_its_equivalence() -> None:
    said = flat(await seen(tempering(), (120, 35)))
    assert "soak part" in said
    assert "37 min of 2 h 00 min" in said
    assert "50 min of 2 h 00 min" in said
    assert "temper so far 35 min to 36 min" in said
    assert "aims at 58–61 HRC" in said
    assert "temper 35 min" in said_of("tempering"), "where there is one row, the smaller number stands"


async def test_fahrenheit_is_for_the_eye_alone() -> None:
    """800 degC = 1472 degF; a difference of -2.0 K is -3.6 degF; 200 K/h is 360 degF/h."""
    text, plan, limits, celsius = await seen_after(STATES["heating"](), (120, 35), "u", "3", "4", "1u")
    said = flat(text)
    assert shows_big(text, "1472", 120, 35)
    assert "deviation -3.6 °F" in said
    assert "at 360 °F/h" in plan
    assert "1368 / 1499 °F" in said
    assert "5.6 / 20.0 °F" in flat(limits)
    assert "goal °F" in said
    assert "Next: soak at 1472 °F for 10 min in 17 min." in said
    assert "Next: soak at 800 °C for 10 min in 17 min." in flat(celsius)


async def test_every_page_keeps_caution_step_and_off() -> None:
    app = WatchApp(Wire(ready()), VirtualClock())
    async with app.run_test(size=SIZES[0]) as pilot:
        for size in SIZES[:2]:
            await pilot.resize_terminal(*size)
            for page in "2345ff":  # into the far view and out of it
                await pilot.press(page)
                app.redraw()
                await pilot.pause()
                said = flat(text_of(app))
                assert flat(words.caution(ready().isolator)) in said, page
                assert "◆ READY" in said, page
                assert " F9 OFF" in f" {said}", page


async def test_all_interlocks_can_be_read() -> None:
    text = await seen(ready(), (80, 60), "4")
    for interlock in ready().interlocks:
        assert interlock.label in text
    assert "half-waves above the band" in text


async def test_a_small_terminal_says_so_and_still_switches_off() -> None:
    wire = Wire(tripped())
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(60, 20)) as pilot:
        await pilot.pause()
        said = flat(text_of(app))
        assert "too small (60×20): make it at least 80×24" in said
        assert "tripped 758 °C" in said
        assert flat(words.trip_words(tripped())) in said
        assert flat(words.caution(tripped().isolator)) in said
        await pilot.press("f9")
        await pilot.pause()
        assert [c.word for c in wire.asked] == ["off"]


async def test_a_small_terminal_tells_of_an_oven_that_is_not_shown() -> None:
    wire = Wire(tempering())
    app = WatchApp(wire, VirtualClock(), oven=tempering().oven)
    async with app.run_test(size=(60, 20)) as pilot:
        await pilot.pause()
        assert "F9 OFF" in text_of(app)
        wire.put(ready())
        await pilot.pause()
        app.look_again()
        await pilot.pause()
        said = flat(text_of(app))
        assert "F9 ALL OFF" in said
        assert f"{ready().oven} needs you: press o." in said


async def test_resizing_in_mid_run_keeps_everything() -> None:
    wire = Wire(STATES["heating"]())
    app = WatchApp(wire, VirtualClock())
    async with app.run_test(size=(200, 60)) as pilot:
        for size in ((40, 10), (120, 35), (80, 24)):
            await pilot.resize_terminal(*size)
            await pilot.pause()
            app.redraw()
            await pilot.pause()
            assert "Oil fire: lid, not water." in flat(text_of(app))
        assert "too small" not in text_of(app)
        assert "▲ heating" in text_of(app)


EVERYWHERE = (("3",), ("4",), ("f",), ("f", "1", "ctrl+p"), ("escape", "r"))


@pytest.mark.parametrize(
    ("ascii_only", "encoding", "places"), [(False, "cp437", (("3",), ("1",))), (True, "ascii", EVERYWHERE)]
)
async def test_a_bare_console_gets_characters_that_it_has(
    ascii_only: bool, encoding: str, places: tuple[tuple[str, ...], ...]
) -> None:
    """Code page 437 is what a text console's font shows (Python's own codec says what is in it).

    What is drawn in ASCII has been drawn in that page first.
    """
    assert all(alike(letter, "cp437") == letter for letter in "─│┌┐└┘├┤┬┴┼█▀▄▌▐░▒▓°·═")
    wire = Wire(held(), tempering())
    app = WatchApp(wire, VirtualClock(), plain=True, ascii_only=ascii_only)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        for keys in places:
            await pilot.press(*keys)
            app.redraw()
            await pilot.pause()
            drawn = text_of(app)
            assert drawn.encode(encoding).decode(encoding) == drawn
            assert "?" not in drawn.replace("? help", "") or "r" in keys, "nothing without a like"
            assert {len(row) for row in drawn.splitlines()} == {80}, "nothing has moved"
        wire.put(tripped())
        await pilot.pause()
        app.redraw()
        await pilot.pause()
        text = text_of(app)
    assert "X tripped" in text
    assert "!! Unexplained heat" in text


@pytest.mark.parametrize("value", ["1", ""])
async def test_who_wants_no_colour_gets_none(monkeypatch: pytest.MonkeyPatch, value: str) -> None:
    """After no-color.org (from memory): set and not empty means no colour."""
    monkeypatch.setenv("NO_COLOR", value)
    app = WatchApp(Wire(tripped()), VirtualClock())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        app.redraw()
        await pilot.pause()
        assert "✖ tripped" in text_of(app)
        strips = app.screen._compositor.render_strips()
    drawn = [s.style.color for strip in strips for s in strip if s.style and s.style.color]
    drawn += [s.style.bgcolor for strip in strips for s in strip if s.style and s.style.bgcolor]
    assert bool(drawn) is not bool(value), (
        "the terminal's own ink and ground: a black box stood on white ones"
    )
    reversed_ = {s.text.strip() for strip in strips for s in strip if s.style and s.style.reverse}
    assert {"✖ tripped", "F9 OFF"} <= reversed_, "what weighs is reversed still"


async def test_without_colour_the_button_that_enter_presses_is_reversed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    app = WatchApp(Wire(tripped()), VirtualClock())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("r")
        await pilot.pause()
        cells = [s for strip in app.screen._compositor.render_strips() for s in strip]
        weighs = {word: any(s.style.reverse for s in cells if s.style and word in s.text) for word in BUTTONS}
    assert weighs == {"Leave it latched": True, "Reset ": False}


async def test_abnormal_is_reversed_in_every_look() -> None:
    """Colour may be lost; what is abnormal is also shown reversed, in words, and with a shape."""
    app = WatchApp(Wire(tripped()), VirtualClock())
    async with app.run_test(size=(80, 24)) as pilot:
        for theme in look.NAMES:
            app.theme = theme
            await pilot.pause()
            app.redraw()
            await pilot.pause()
            segments = [seg for strip in app.screen._compositor.render_strips() for seg in strip]
            for words_ in ("✖ tripped", "HEAT IS OFF, read back"):
                styles = [seg.style for seg in segments if words_ in seg.text]
                assert styles, (theme, words_)
                assert all(style is not None and style.reverse for style in styles), (theme, words_)


def lightness(colour: tuple[int, int, int]) -> float:
    """Relative luminance after WCAG 2.x (sRGB), from memory."""
    parts = [c / 255 / 12.92 if c <= 10 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in colour]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]


@cache  # the same few pairs, in every cell
def contrast(one: tuple[int, int, int], other: tuple[int, int, int]) -> float:
    """Contrast ratio after WCAG 2.x, from memory."""
    low, high = sorted((lightness(one), lightness(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("colours", [ColorSystem.TRUECOLOR, ColorSystem.EIGHT_BIT], ids=["full", "256"])
@pytest.mark.parametrize("theme", look.themes(), ids=look.NAMES)
def test_every_text_colour_can_be_read_on_its_ground(theme: Theme, colours: ColorSystem) -> None:
    """Contrast at least 4.5 : 1 (WCAG 2.x, level AA, normal text; from memory), in 256 colours too."""

    def drawn(colour: str) -> tuple[int, int, int]:
        return tuple(Color.parse(colour).downgrade(colours).get_truecolor())  # type: ignore[return-value]

    for ground in (str(theme.background), str(theme.panel)):
        for name, colour in _letters(theme).items():
            ratio = contrast(drawn(colour), drawn(ground))
            assert ratio >= 4.5, f"{name} on {ground}: {ratio:.1f}"


def _letters(theme: Theme) -> dict[str, str]:
    """Return the colours of letters and lines; the band is a ground."""
    return {name: colour for name, colour in theme.variables.items() if name != "band"}


@pytest.mark.parametrize("theme", look.themes(), ids=look.NAMES)
def test_lines_can_be_told_from_the_shaded_band(theme: Theme) -> None:
    """Contrast at least 3 : 1 (WCAG 2.x, graphics; from memory)."""
    for name in ("measured", "ahead", "soft", "goal"):
        one, other = (Color.parse(theme.variables[n]).get_truecolor() for n in (name, "band"))
        assert contrast(tuple(one), tuple(other)) >= 3.0, name


# The 16 colours as xterm shows them by its own default, and as the Linux console does; from memory.
XTERM = (0, 0xCD0000, 0xCD00, 0xCDCD00, 0xEE, 0xCD00CD, 0xCDCD, 0xE5E5E5)
XTERM_BRIGHT = (0x7F7F7F, 0xFF0000, 0xFF00, 0xFFFF00, 0x5C5CFF, 0xFF00FF, 0xFFFF, 0xFFFFFF)
CONSOLE = (0, 0xAA0000, 0xAA00, 0xAA5500, 0xAA, 0xAA00AA, 0xAAAA, 0xAAAAAA)
CONSOLE_BRIGHT = (0x555555, 0xFF5555, 0x55FF55, 0xFFFF55, 0x5555FF, 0xFF55FF, 0x55FFFF, 0xFFFFFF)


@pytest.mark.parametrize(
    "palette", [XTERM + XTERM_BRIGHT, CONSOLE + CONSOLE_BRIGHT], ids=["xterm", "console"]
)
@pytest.mark.parametrize("theme", look.themes(sixteen=True), ids=look.NAMES)
def test_every_text_colour_can_be_read_in_sixteen_colours(theme: Theme, palette: tuple[int, ...]) -> None:
    def drawn(colour: str) -> tuple[int, int, int]:
        number = Color.parse(colour).downgrade(ColorSystem.STANDARD).number
        assert number is not None
        return palette[number] >> 16, palette[number] >> 8 & 255, palette[number] & 255

    for ground in (str(theme.background), str(theme.panel)):
        for name, colour in _letters(theme).items():
            ratio = contrast(drawn(colour), drawn(ground))
            assert ratio >= 4.5, f"{name} on {ground}: {ratio:.1f}"


OPEN = ((), ("f",), ("4",), ("5",), ("r",), ("n",), ("ctrl+p",))


async def test_all_that_is_drawn_can_be_read() -> None:
    """The same ratio, of every cell: questions, fields, the palette and an old picture as well.

    And after rich's own fall-back to the 16 standard colours no letter has the colour of its ground.
    """
    clock = VirtualClock()
    wire = Wire(tripped(), tempering())
    app = WatchApp(wire, clock)
    found: set[tuple[str, str]] = set()
    async with app.run_test(size=(80, 24)) as pilot:

        async def judge(where: str, dialog: bool = False) -> None:
            app.redraw()
            await pilot.pause()
            found.update((f"{where}, {app.theme}", text) for text in unreadable(app))
            found.update((f"{where}, {app.theme}, 16", text) for text in ([] if dialog else hidden(app)))

        await pilot.pause()
        for name in look.NAMES:  # a change of the look is the dear part
            app.theme = name
            await show(app, pilot, wire, dataclasses.replace(tripped(), published_boot_s=clock.boot_s()))
            for keys in OPEN if name == look.NAMES[0] else (OPEN[0], ("r",)):
                await pilot.press(*keys)
                await pilot.pause(0.3 if keys == ("ctrl+p",) else None)
                await judge(str(keys), keys in OPEN[4:])  # a page has the colours of every other
                await pilot.press(*(("escape",) if keys in OPEN[4:] else ("1",)))
                await pilot.pause()
            for s in (ready(), lost(), STATES["heating"](), held(), STATES["hot"]()):
                if name == look.NAMES[0] or s.word == "heating":
                    await show(app, pilot, wire, dataclasses.replace(s, published_boot_s=clock.boot_s()))
                    await judge(s.word)
            clock.advance(20.0)
            await judge("old")
            assert app.screen.has_class("-grey")
    assert not found


def unreadable(app: WatchApp) -> set[str]:
    """Return what is drawn with a contrast below 4.5; frames and bars are no text."""
    found = set()
    for strip in app.screen._compositor.render_strips():
        for text, style, _ in strip:
            if style is None or style.color is None or style.bgcolor is None:
                continue
            if any(c.isalnum() for c in text):
                ratio = contrast(style.color.get_truecolor(), style.bgcolor.get_truecolor())
                found |= {f"{text.strip()} {ratio:.1f}"} if ratio < 4.5 else set()
    return found


def hidden(app: WatchApp) -> list[str]:
    """Return what cannot be read in 16 colours."""
    found = []
    for strip in app.screen._compositor.render_strips():
        for text, style, _ in strip:
            if style is None or not text.strip() or style.color is None or style.bgcolor is None:
                continue
            pair = [c.downgrade(ColorSystem.STANDARD).number for c in (style.color, style.bgcolor)]
            found += [text] if pair[0] == pair[1] else []
    return found


def test_what_stands_in_on_a_page_stays_in_when_it_needs_two_rows() -> None:
    """The second row of a reason began left of the mark of its own step."""
    reasons = ("so that thick and thin heat evenly " * 4,) * len(heating().segments)
    s = dataclasses.replace(heating(), not_checked=("no second sensor: what reads low goes unnoticed " * 3,))
    plan = plan_panel.plan_page(View(s, reasons=reasons), 78).plain.splitlines()
    alarms = heat_panel.alarm_page(View(s), 60).plain.splitlines()
    for rows, indent, width, said in ((plan, 5, 78, "evenly"), (alarms, 3, 60, "sensor")):
        inside = [row for row in rows if row.startswith(" " * indent)]
        assert any(said in row for row in inside)
        assert all(len(row) <= width and row[indent] != " " for row in inside)
        assert all(row[0] != " " for row in rows if row not in inside)


@pytest.mark.parametrize(("state", "there"), [("hot", True), ("heating", False)])
def test_after_the_end_the_last_distances_do_not_pass_for_live(state: str, there: bool) -> None:
    view = View(STATES[state]())
    for painted in (limits_panel.limits(view, 49, 4), limits_panel.limit_page(view, 78)):
        assert ("when the heat ended" in flat(painted.plain)) is there
