"""A screen on a real socket: it follows, asks, is answered and comes back."""

import dataclasses
from contextlib import closing
from pathlib import Path

from dashboard.feed import (
    Wire,
    heating,
    text_of,
    tripped,
    until,
)

from kilnctl.clock import RealClock, VirtualClock
from kilnctl.dashboard.app import WatchApp
from kilnctl.dashboard.feed import Attachment
from kilnctl.link.server import LinkServer
from kilnctl.link.snapshot import Answer, Command


async def test_an_attachment_follows_a_real_socket_and_comes_back(tmp_path: Path) -> None:
    path, clock = tmp_path / "s", RealClock()

    def handle(command: Command) -> Answer:
        return Answer(command.word == "off", f"heard {command.word}")

    feed = Attachment(path)
    assert not (await feed.ask(Command("off"))).accepted
    with closing(LinkServer(path, handle, clock)) as server:
        server.publish(heating())
        following = feed.snapshots()
        first = await anext(following)
        assert first.process_c == heating().process_c
        assert clock.boot_s() - first.published_boot_s < 60.0
        server.publish(dataclasses.replace(heating(), sequence=2))
        assert (await anext(following)).sequence == 2
    assert [s.sequence async for s in following] == []
    with closing(LinkServer(path, handle, clock)) as server:
        server.publish(tripped())
        assert (await anext(feed.snapshots())).word == "tripped"


async def test_a_screen_on_a_real_socket_asks_and_shows_the_answer(tmp_path: Path) -> None:
    heard: list[Command] = []

    def handle(command: Command) -> Answer:
        heard.append(command)
        return Answer(True, "heat is off, read back")

    clock = RealClock()
    with closing(LinkServer(tmp_path / "s", handle, clock)) as server:
        server.publish(heating())
        app = WatchApp(Attachment(tmp_path / "s"), clock, who="pts/3")
        async with app.run_test(size=(80, 24)) as pilot:
            await until(pilot, lambda: app.view is not None)
            await pilot.press("f9")
            await until(pilot, lambda: "heat is off, read back" in text_of(app))
    assert heard == [Command("off", None, {}, "pts/3")]


async def test_a_screen_attaches_once() -> None:
    wire = Wire(heating())
    async with WatchApp(wire, VirtualClock()).run_test() as pilot:
        await pilot.pause()
        assert wire.attached == 1
