"""The same screen in a browser on this computer: read-only, plus off. Needs the extra `kilnctl[web]`."""

import asyncio
import contextlib
import logging
import shlex
import sys
from collections.abc import Awaitable, Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import aiohttp_jinja2
from aiohttp import web
from aiohttp.typedefs import Handler, Middleware
from textual_serve.app_service import AppService
from textual_serve.server import Server

from kilnctl.clock import Clock
from kilnctl.dashboard.view_state import View
from kilnctl.dashboard.web_state import state
from kilnctl.errors import KilnctlError, NoController
from kilnctl.link.snapshot import Answer

HOST = "127.0.0.1"
PAGE = Path(__file__).with_name("page")  # the library's own page asks a public host for a font
# Pages of this server may load nothing from elsewhere, and stand in no frame of another page.
POLICY = (
    "default-src 'self' 'unsafe-inline' 'unsafe-eval' data: blob:; connect-src 'self' ws://{host}; "
    "frame-ancestors 'none'"
)
MOST_SCREENS = 6  # each is a process of 60 MB
LEAST, MOST = (20, 8), (400, 150)  # of a screen, in characters
LOOK_S = 0.8  # pages ask each second, each for itself; the controller is asked once
OFF_HEADER = "X-Kilnctl-Off"  # no page of another site can send it

Newest = Callable[[], list[View]]
LastWords = Callable[[], str]
Off = Callable[[], Awaitable[Answer]]


def command(oven: str | None) -> str:
    """Return the command line of the screen that is started for each browser tab."""
    words = [sys.executable, "-m", "kilnctl.cli.main", "watch", "--read-only"]
    return shlex.join(words + (["--oven", oven] if oven else []))


class Loopback(Server):
    """A server for this computer only. Requests that another site or another name makes are refused.

    `newest` returns the newest pictures and raises NoController; `last_words` says what is known since then;
    `off` cuts the heat.
    """

    def __init__(
        self, oven: str | None, port: int, newest: Newest, last_words: LastWords, off: Off, clock: Clock
    ) -> None:
        super().__init__(command(oven), host=HOST, port=port, title="kilnctl", templates_path=PAGE)
        self._newest, self._last_words, self._off, self._clock = newest, last_words, off, clock
        self._screens, self._seen = 0, list[View]()
        self._told: dict[str, Any] = state([])
        self._told_s, self._asking = -1e9, asyncio.Lock()

    def initialize_logging(self) -> None:
        """Say nothing of each request; what matters is said on the pages."""
        logging.getLogger("textual-serve").setLevel(logging.CRITICAL)

    async def on_startup(self, app: web.Application) -> None:
        """Say nothing of the library: the command has said where the page is."""

    async def _make_app(self) -> web.Application:
        app = await super()._make_app()
        app.middlewares.append(guard(self.port))
        app.add_routes(
            [
                web.get("/small", self.handle_small),
                web.get("/live.js", self.handle_script),
                web.get("/state", self.handle_state),
                web.post("/off", self.handle_off),
            ]
        )
        return app

    async def handle_index(self, request: web.Request) -> web.StreamResponse:
        """Return the page around the screen; its addresses are those of the name it was asked by."""
        words = {"socket": f"ws://{request.host}/ws", "font_size": _whole(request, "fontsize", 16, 6, 60)}
        return aiohttp_jinja2.render_template("app_index.html", request, words)

    async def handle_small(self, request: web.Request) -> web.StreamResponse:
        """Return the page for a telephone held upright; it needs no terminal."""
        return aiohttp_jinja2.render_template("small.html", request, {})

    async def handle_script(self, request: web.Request) -> web.StreamResponse:
        """Return what both pages do."""
        return web.FileResponse(PAGE / "live.js", headers={"Content-Type": "text/javascript"})

    async def handle_state(self, request: web.Request) -> web.StreamResponse:
        """Return all ovens in a few words."""
        async with self._asking:
            if self._clock.real_s() - self._told_s >= LOOK_S:
                self._told = await asyncio.to_thread(self._ask)
                self._told_s = self._clock.real_s()
        return web.json_response(self._told, headers={"Cache-Control": "no-store"})

    def _ask(self) -> dict[str, Any]:
        try:
            self._seen = self._newest()
            return state(self._seen)
        except NoController:
            return state([replace(v, attached=False) for v in self._seen], self._last_words())
        except KilnctlError as e:  # it lives and does not answer: what was seen last grows old
            return state([replace(v, attached=False) for v in self._seen], str(e))

    async def handle_off(self, request: web.Request) -> web.StreamResponse:
        """Cut the heat of every oven. Only a page of this server can send the header."""
        if OFF_HEADER not in request.headers:
            raise web.HTTPForbidden(text="this page is for this computer only")
        answer = await self._off()
        return web.json_response({"accepted": answer.accepted, "why": answer.why})

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        """Run one screen for one tab, of a sane size; close the tab's line when the screen has ended."""
        if self._screens >= MOST_SCREENS:
            raise web.HTTPServiceUnavailable(text=f"{MOST_SCREENS} screens are open already")
        self._screens += 1
        try:
            return await self._one_screen(request)
        finally:
            self._screens -= 1

    async def _one_screen(self, request: web.Request) -> web.WebSocketResponse:
        socket = web.WebSocketResponse(heartbeat=15)
        await socket.prepare(request)

        async def close() -> None:
            await socket.close()

        screen = Screen(
            self.command,
            write_bytes=socket.send_bytes,
            write_str=socket.send_str,
            close=close,
            download_manager=self.download_manager,
        )
        size = [
            _whole(request, name, MOST[i], LEAST[i], MOST[i]) for i, name in enumerate(("width", "height"))
        ]
        await screen.start(size[0], size[1])
        ended = asyncio.create_task(screen.ended(socket))
        try:
            with contextlib.suppress(ValueError, TypeError, KeyError, IndexError, AssertionError):
                await self._process_messages(socket, screen)
        finally:
            ended.cancel()
            await screen.stop()
        return socket


class Screen(AppService):
    """One screen in a process of its own, never larger than a screen can be."""

    async def set_terminal_size(self, width: int, height: int) -> None:
        """Tell the screen its size, within bounds: the memory of a screen grows with it."""
        await super().set_terminal_size(
            *(max(a, min(b, int(n))) for a, b, n in zip(LEAST, MOST, (width, height), strict=True))
        )

    async def ended(self, socket: web.WebSocketResponse) -> None:
        """Wait for the process to end, then close the tab's line: the page says so at once."""
        if self._process is not None:
            await self._process.wait()
            await socket.close()


def _whole(request: web.Request, name: str, usual: int, least: int, most: int) -> int:
    """Return a whole number of the address, within bounds."""
    try:
        return max(least, min(most, int(request.query[name])))
    except (KeyError, ValueError):
        return max(least, min(most, usual))


def guard(port: int) -> Middleware:
    """Return the check that every request passes: a page of another site could reach a local port too."""
    names = {f"{name}:{port}" for name in (HOST, "localhost")}
    origins = {f"http://{name}" for name in names}

    @web.middleware
    async def check(request: web.Request, handler: Handler) -> web.StreamResponse:
        origin = request.headers.get("Origin")
        if request.host not in names or (origin is not None and origin not in origins):
            raise web.HTTPForbidden(text="this page is for this computer only")
        if request.path.startswith("/static") and request.path.endswith("/"):
            raise web.HTTPNotFound(text="there is no such page")
        response = await handler(request)
        if not response.prepared:
            response.headers["Content-Security-Policy"] = POLICY.format(host=request.host)
            response.headers["X-Frame-Options"] = "DENY"
        return response

    return check


def serve(oven: str | None, port: int, newest: Newest, last_words: LastWords, off: Off, clock: Clock) -> None:
    """Serve until interrupted."""
    Loopback(oven, port, newest, last_words, off, clock).serve()
