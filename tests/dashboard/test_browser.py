"""The browser view in a real browser, over a real controller's socket with invented pictures on it."""

import asyncio
import contextlib
import dataclasses
import os
import socket
import subprocess
import sys
import time
from collections.abc import AsyncIterator, Callable, Iterator
from pathlib import Path

import pytest
from aiohttp import web
from aiohttp.test_utils import TestServer
from dashboard.browser import PROGRAM, Browser
from dashboard.feed import heating, tempering, tripped
from heats import a_full_book

from kilnctl.link.server import LinkServer
from kilnctl.link.snapshot import Answer, Command, Snapshot
from kilnctl.logbook.readers import Reader
from kilnctl.report.layout.page_file import write_page
from kilnctl.report.record import load_record
from kilnctl.report.record_page import record_page
from kilnctl.report.workshop import Workshop

pytestmark = pytest.mark.skipif(PROGRAM is None, reason="no chromium on this machine")
on_demand = pytest.mark.on_demand  # all but the one that matters most: a browser is dear
F9 = ("F9", 120)
DESK, TELEPHONE = (1280, 800, False), (390, 844, True)


class Shop:
    """A controller's end of the socket, and the page server as people start it."""

    def __init__(self, home: Path, *shown: Snapshot) -> None:
        self.home, self.asked, self._shown = home, list[Command](), list(shown)
        self.link: LinkServer | None = LinkServer(home / "controller.socket", self._handle)
        self.show(*shown)
        self.port = _free_port()
        env = {**os.environ, "KILNCTL_HOME": str(home)}
        words = [sys.executable, "-m", "kilnctl.cli.main", "watch", "--web", "--port", str(self.port)]
        self.server = subprocess.Popen(words, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        self.url = f"http://127.0.0.1:{self.port}/"

    def show(self, *shown: Snapshot) -> None:
        assert self.link is not None
        for snapshot in shown:
            self.link.publish(snapshot)

    def _handle(self, command: Command) -> Answer:
        self.asked.append(command)
        return Answer(True, data={"ovens": {s.oven: {"busy": True, "holds": True} for s in self._shown}})

    async def until(self, true: Callable[[], object]) -> None:
        for _ in range(300):
            if true():
                return
            await asyncio.sleep(0.1)
        raise AssertionError("it never came to that")

    @property
    def stamp(self) -> Path:
        """What `off` leaves on the disk first of all (marks/PROTOCOL.md)."""
        return self.home / "off" / "all"

    def screens(self) -> int:
        """Return how many screens the server has started: a frame that is not refused starts one."""
        return len(Path(f"/proc/{self.server.pid}/task/{self.server.pid}/children").read_text().split())

    def off_asked(self) -> int:
        return sum(command.word == "off" for command in self.asked)

    def controller_goes(self) -> None:
        assert self.link is not None
        self.link.close()
        self.link = None

    def close(self) -> None:
        self.server.terminate()
        self.server.wait(20.0)
        if self.link is not None:
            self.link.close()


def _free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = Shop(tmp_path, tempering())
    for _ in range(600):
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", made.port), 1.0):
            break
        time.sleep(0.05)
    yield made
    made.close()


@contextlib.asynccontextmanager
async def ticking(shop: Shop, *shown: Snapshot) -> AsyncIterator[None]:
    """Publish pictures each half second, as a controller does."""

    async def run() -> None:
        while shop.link is not None:
            shop.show(*shown)
            await asyncio.sleep(0.5)

    task = asyncio.create_task(run())
    yield
    task.cancel()


async def test_f9_switches_off_from_the_first_moment_without_a_click(shop: Shop) -> None:
    """Before the screen has drawn anything, and again when it has."""
    async with Browser(*DESK) as browser, ticking(shop, tempering()):
        await browser.open(shop.url)
        await browser.until("document.getElementById('begins') !== null")
        await browser.key(*F9)
        await shop.until(shop.stamp.exists)
        await browser.until("document.body.classList.contains('-first-byte')")
        await browser.until("document.activeElement.className === 'xterm-helper-textarea'")
        assert not shop.off_asked(), "the screen's own key has not been pressed yet"
        await browser.key(*F9)
        await shop.until(shop.off_asked)


@on_demand
async def test_other_keys_reach_the_screen_without_a_click(shop: Shop) -> None:
    async with Browser(*DESK) as browser, ticking(shop, tempering()):
        await browser.open(shop.url)
        await browser.until("document.body.classList.contains('-first-byte')")
        await browser.until("document.activeElement.className === 'xterm-helper-textarea'")


@on_demand
async def test_title_and_live_line_say_state_and_alarm(shop: Shop) -> None:
    async with Browser(*DESK) as browser, ticking(shop, tempering()):
        await browser.open(shop.url)
        title = await browser.until("document.title.includes('°C') && document.title")
        assert title == "■ 218 °C soaking"
        said = await browser.js("document.getElementById('said').textContent")
        assert "soaking" in said
        assert await browser.js("document.getElementById('said').getAttribute('aria-live')") == "polite"
    async with (
        Browser(*DESK) as browser,
        ticking(shop, dataclasses.replace(tripped(), oven="tempering-oven")),
    ):
        await browser.open(shop.url)
        title = await browser.until("document.title.includes('TRIPPED') && document.title")
        assert title.startswith("CALLS YOU")


@on_demand
@pytest.mark.parametrize("size", [DESK, TELEPHONE], ids=["desk", "telephone"])
async def test_a_controller_that_has_gone_is_told_and_a_reload_does_not_hide_it(
    shop: Shop, size: tuple[int, int, bool]
) -> None:
    async with Browser(*size) as browser, ticking(shop, tempering()):
        await browser.open(shop.url)
        await browser.until("document.title.includes('°C')")
        shop.controller_goes()
        for _ in range(2):
            said = await browser.until(
                "document.body.innerText.includes('CONTROLLER HAS GONE') && document.body.innerText", 30.0
            )
            assert "kilnctl off" in said
            assert "Starting the screen" not in said
            await browser.send("Page.reload")


@on_demand
async def test_what_is_marked_with_the_mouse_can_be_copied_and_the_screen_stays(shop: Shop) -> None:
    async with Browser(*DESK) as browser, ticking(shop, tempering()):
        await browser.open(shop.url)
        await browser.until("document.body.classList.contains('-first-byte')")
        await browser.send(
            "Browser.grantPermissions", permissions=["clipboardReadWrite", "clipboardSanitizedWrite"]
        )
        copied = ""  # what is not granted is refused, also what a tab may do otherwise
        for _ in range(20):  # its words may not stand yet
            await browser.drag((4.0, 50.0), (800.0, 50.0))
            await asyncio.sleep(1.0)
            await browser.key("c", 67, modifiers=2)
            await asyncio.sleep(1.0)
            if copied := await browser.js("navigator.clipboard.readText()"):
                break
        assert "tempering-oven" in copied
        assert await browser.js("!document.body.classList.contains('-closed')")


@on_demand
async def test_localhost_works_too(shop: Shop) -> None:
    async with Browser(*DESK) as browser, ticking(shop, tempering()):
        await browser.open(shop.url.replace("127.0.0.1", "localhost"))
        await browser.until("document.body.classList.contains('-first-byte')")


@on_demand
async def test_a_frame_of_another_page_shows_nothing(shop: Shop) -> None:
    async def stranger(request: web.Request) -> web.Response:
        frame = f'<iframe src="{shop.url}" width=800 height=600></iframe>'
        return web.Response(text=frame, content_type="text/html")

    app = web.Application()
    app.router.add_get("/", stranger)
    async with TestServer(app) as other, Browser(*DESK) as browser, ticking(shop, tempering()):
        await browser.open(str(other.make_url("/")))
        await asyncio.sleep(5.0)
        assert shop.screens() == 0
        await browser.open(shop.url)
        await shop.until(shop.screens)


@on_demand
async def test_a_telephone_gets_a_page_of_its_own_with_off(shop: Shop) -> None:
    async with Browser(*TELEPHONE) as browser, ticking(shop, tempering()):
        await browser.open(shop.url)
        await browser.until("location.pathname === '/small'")
        said = await browser.until("document.body.innerText.includes('218') && document.body.innerText")
        for words in (
            "SOAKING",
            "218 °C",
            "4 h 27 min",
            "nothing to do now",
            "HOT EQUIPMENT",
            "wall switch",
            "OFF",
        ):
            assert words in said
        assert await browser.js("document.documentElement.scrollWidth") <= 390
        assert await browser.js("document.getElementById('off').getBoundingClientRect().height") >= 48
        assert await browser.js("document.querySelector('canvas') === null"), "no terminal"
        await browser.click("#off")
        await shop.until(shop.stamp.exists)
        await browser.until("document.body.innerText.includes('NOT CONFIRMED')", 30.0)  # no oven is there


@on_demand
async def test_a_record_on_a_telephone_is_read_downwards_only(tmp_path: Path) -> None:
    with a_full_book(tmp_path), Reader(tmp_path / "logbook.sqlite") as reader:
        page = record_page(reader, load_record(reader, 1), Workshop())
        write_page(page, tmp_path / "record.html")
    pushed = "[...document.querySelectorAll('*')].filter(e => e.scrollWidth > innerWidth).length"
    async with Browser(*TELEPHONE) as browser:
        await browser.open((tmp_path / "record.html").as_uri())
        await browser.until("document.body.innerText.includes('What this record is')")
        assert await browser.js(pushed) == 0
        assert await browser.js("document.querySelector('svg.narrow').getBoundingClientRect().width") > 300
        assert await browser.js("document.querySelector('svg.wide').getBoundingClientRect().width") == 0


@on_demand
async def test_two_ovens_are_both_on_the_telephone(shop: Shop) -> None:
    async with Browser(*TELEPHONE) as browser, ticking(shop, tempering(), heating()):
        await browser.open(shop.url)
        said = await browser.until("document.body.innerText.includes('742') && document.body.innerText")
        assert "hardening-furnace" in said
        assert "tempering-oven" in said
