"""Whatever comes, in bursts and at any size: the screen stands, and F9 asks for off.

Found so: two Enters in one burst, a trip in the moment in which a question opens, the palette closed twice.
`python -m pytest -m on_demand tests/dashboard/test_any_keys.py` plays forty of them (3 min); one is played
every day.
"""

import dataclasses
import random

import pytest
from dashboard.feed import STATES, Wire, heating
from textual.events import Key, Paste
from textual.pilot import Pilot

from kilnctl.clock import VirtualClock
from kilnctl.dashboard.app import WatchApp

WORDS = ["space", "enter", "escape", "left", "right", "up", "down", "tab", "shift+tab", "ctrl+p", "backspace"]
EDITING = [
    "home",
    "end",
    "delete",
    "f1",
    "f5",
    "f9",
    "ctrl+u",
    "ctrl+w",
    "ctrl+k",
    "ctrl+x",
    "ctrl+v",
    "pagedown",
]
LETTERS = list("wxarfut12345olngCsy6")
SIZES = [(80, 24), (120, 35), (200, 60), (40, 10), (79, 23), (1, 1), (300, 80), (20, 100)]
PASTES = ["", "\n", "a\nb\n", "x" * 5000, "60 skates\r\n", "\x00\x1b[A", "[bold]x[/"]


async def play(seed: int, steps: int) -> list[str] | None:
    """Do things at random; return what F9 asks at the end, None where the keys had left the screen."""
    dice, clock, wire = random.Random(seed), VirtualClock(), Wire(heating())
    app = WatchApp(wire, clock, plain=seed % 3 == 0, ascii_only=seed % 5 == 0)
    async with app.run_test(size=dice.choice(SIZES)) as pilot:
        await pilot.pause()
        for step in range(steps):
            await something(app, pilot, wire, clock, dice)
            if step % 10 == 9:
                await pilot.pause()
        await pilot.pause()
        if not app.is_running:
            return None
        wire.asked.clear()
        await pilot.press("f9")
        await pilot.pause()
    return [command.word for command in wire.asked]


async def something(
    app: WatchApp, pilot: Pilot[None], wire: Wire, clock: VirtualClock, dice: random.Random
) -> None:
    """Type a burst of keys, publish a picture, pull at the window, hang up, paste, or let time pass."""
    chance = dice.random()
    if chance < 0.6:
        for _ in range(dice.randint(1, 6)):
            key = dice.choice(WORDS + EDITING + LETTERS)
            app.post_message(Key(key, key if len(key) == 1 else " " if key == "space" else None))
        if dice.random() < 0.5:
            await pilot.pause()
    elif chance < 0.8:
        s = dice.choice(list(STATES.values()))()
        old_s, run = dice.choice([0.0, 0.0, 4.0, 30.0]), dice.choice([1, 2, None])
        oven, left = dice.choice(["a", "b", s.oven]), dice.random() < 0.1
        at_s = s.elapsed_s + dice.random() * 100.0
        published_s = clock.boot_s() - old_s
        wire.put(
            dataclasses.replace(
                s, run=run, oven=oven, left=left, elapsed_s=at_s, published_boot_s=published_s
            )
        )
    elif chance < 0.86:
        await pilot.resize_terminal(*dice.choice(SIZES))
    elif chance < 0.9:
        wire.hang_up()
    elif chance < 0.95:
        app.post_message(Paste(dice.choice(PASTES)))
    else:
        clock.advance(dice.choice([0.1, 1.0, 12.0]))


async def test_whatever_is_typed_the_screen_stands_and_off_is_off() -> None:
    assert await play(209, 25) in (None, ["off"])


@pytest.mark.on_demand
@pytest.mark.parametrize("seed", range(1000, 1040))
async def test_much_is_typed(seed: int) -> None:
    assert await play(seed, 80) in (None, ["off"])
