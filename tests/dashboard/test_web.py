"""The browser page: loopback only, read-only, and closed to pages of other sites."""

import shlex
from collections.abc import Callable
from typing import Any

import pytest
from aiohttp import web
from aiohttp.test_utils import TestClient, TestServer, make_mocked_request
from dashboard.feed import ready, tempering, tripped
from textual_serve.server import Server

from kilnctl.cli.watch.watch import bare_console, not_utf8
from kilnctl.clock import VirtualClock
from kilnctl.dashboard.view_state import View
from kilnctl.dashboard.web import HOST, LEAST, MOST, MOST_SCREENS, Loopback, Screen, command, guard
from kilnctl.errors import NoController
from kilnctl.link.snapshot import Answer


async def ask(headers: dict[str, str]) -> web.StreamResponse:
    """Send a request through the guard of port 8765 to a page that always answers."""

    async def page(request: web.Request) -> web.StreamResponse:
        return web.Response(text="the screen")

    return await guard(8765)(make_mocked_request("GET", "/ws", headers=headers), page)


async def cut() -> Answer:
    return Answer(True, "heat is off, read back: tempering-oven")


def loopback(look: Callable[[], list[View]] = list) -> Loopback:
    """A server that is shown what `look` returns."""
    return Loopback(None, 8765, look, lambda: "the oven may be HOT", cut, VirtualClock())


def test_only_the_loopback_interface_is_served() -> None:
    server = loopback()
    assert isinstance(server, Server)
    assert server.host == HOST == "127.0.0.1"


def test_each_tab_gets_a_screen_that_can_only_switch_off() -> None:
    words = shlex.split(command("my oven"))
    assert words[1:] == ["-m", "kilnctl.cli.main", "watch", "--read-only", "--oven", "my oven"]


async def test_the_page_is_our_own_and_one_without_a_screen_does_not_look_live() -> None:
    """Nothing of the library is shown, and its script still knows the marks that the page goes by."""
    async with TestClient(TestServer(await loopback()._make_app())) as client:
        here = {"Host": "127.0.0.1:8765"}
        page = await (await client.get("/", headers=here)).text()
        script = await (await client.get("/static/js/textual.js", headers=here)).text()
    assert "Starting the screen." in page
    assert "THIS PAGE HAS LOST ITS SCREEN." in page
    assert "Off: F9, kilnctl off in a terminal, or the isolator." in page
    assert "THE CONTROLLER HAS GONE." in page
    assert "<svg" not in page
    assert "https:" not in page
    assert 'data-session-websocket-url="ws://127.0.0.1:8765/ws"' in page
    for mark in ("-first-byte", "-closed", ".textual-terminal"):
        assert f'"{mark}"' in script
    assert page.index("window.WebSocket = class") < page.index("js/textual.js"), "first to be heard"
    assert '"pong"' in script


async def test_a_page_that_asks_is_answered() -> None:
    """It calls itself lost when nothing comes for six seconds; so the library must answer its question."""

    async def serve(request: web.Request) -> web.WebSocketResponse:
        socket = web.WebSocketResponse()
        await socket.prepare(request)
        await loopback()._process_messages(socket, None)  # type: ignore[arg-type]
        return socket

    app = web.Application()
    app.router.add_get("/ws", serve)
    async with TestClient(TestServer(app)) as client, client.ws_connect("/ws") as socket:
        await socket.send_json(["ping", "17"])
        assert await socket.receive_json(timeout=60) == ["pong", "17"]


@pytest.mark.parametrize("host", ["127.0.0.1:8765", "localhost:8765"])
async def test_this_computer_is_served_and_may_load_nothing_from_elsewhere(host: str) -> None:
    response = await ask({"Host": host, "Origin": f"http://{host}"})
    assert response.status == 200
    policy = response.headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "https:" not in policy
    assert "frame-ancestors 'none'" in policy
    assert response.headers["X-Frame-Options"] == "DENY"
    assert f"ws://{host}" in policy


@pytest.mark.parametrize(
    "headers",
    [
        {"Host": "127.0.0.1:8765", "Origin": "http://elsewhere.example"},
        {"Host": "elsewhere.example:8765"},
        {"Host": "127.0.0.1:8765", "Origin": "null"},
        {"Host": "127.0.0.1:9999"},
    ],
    ids=["another site", "another name", "no site", "another port"],
)
async def test_pages_of_other_sites_are_refused(headers: dict[str, str]) -> None:
    with pytest.raises(web.HTTPForbidden):
        await ask(headers)


async def test_a_page_by_another_name_of_this_computer_has_its_own_addresses() -> None:
    async with TestClient(TestServer(await loopback()._make_app())) as client:
        page = await (await client.get("/", headers={"Host": "localhost:8765"})).text()
    assert 'data-session-websocket-url="ws://localhost:8765/ws"' in page
    assert "127.0.0.1" not in page


@pytest.mark.parametrize(
    ("header", "status"), [({"X-Kilnctl-Off": "1"}, 200), ({}, 403)], ids=["ours", "other"]
)
async def test_off_is_asked_by_a_page_of_this_server_alone(header: dict[str, str], status: int) -> None:
    async with TestClient(TestServer(await loopback()._make_app())) as client:
        answer = await client.post("/off", headers={"Host": "127.0.0.1:8765", **header})
        assert answer.status == status
        if status == 200:
            assert "read back" in (await answer.json())["why"]


async def test_the_state_is_told_in_words_and_a_gone_controller_with_its_last_ones() -> None:
    shown = [View(tempering(), read_only=True)]

    def look() -> list[View]:
        if not shown:
            raise NoController("no controller is running")
        return list(shown)

    server = loopback(look)
    async with TestClient(TestServer(await server._make_app())) as client:

        async def asked() -> dict[str, Any]:
            server._told_s = -1e9
            return dict(await (await client.get("/state", headers={"Host": "127.0.0.1:8765"})).json())

        told = await asked()
        assert told["title"] == "■ 218 °C soaking"
        assert "nothing to do now" in told["say"]
        assert not told["calls"]
        (oven,) = told["ovens"]
        assert oven["caution"].startswith(
            "HOT EQUIPMENT – software is not the safety limit. Isolator: wall switch"
        )
        shown[0] = View(tripped(), read_only=True)
        told = await asked()
        assert told["title"].startswith("CALLS YOU")
        assert told["calls"]
        shown[0] = View(ready(), read_only=True, age_s=20.0)
        (oven,) = (await asked())["ovens"]
        assert "Quench" not in " ".join(oven["rows"]), "nobody may act on an old call"
        assert "look at the oven" in oven["rows"][0]
        shown.clear()
        told = await asked()
        assert (told["title"], told["gone"]) == ("NO CONTROLLER", "the oven may be HOT")
        (oven,) = told["ovens"]
        assert (oven["word"], oven["left"]) == ("NO DATA", ""), "nothing old may look live"
        assert oven["temperature"].startswith("was ")


async def test_a_screen_more_than_there_may_be_is_refused() -> None:
    server = loopback()
    server._screens = MOST_SCREENS
    async with TestClient(TestServer(await server._make_app())) as client:
        answer = await client.get("/ws", headers={"Host": "127.0.0.1:8765"})
    assert answer.status == 503


async def test_no_screen_is_larger_than_a_screen_can_be() -> None:
    sent: list[Any] = []

    class Told(Screen):
        async def send_meta(self, data: Any) -> bool:
            sent.append(data)
            return True

    async def nothing(*_: object) -> None: ...

    screen = Told("x", write_bytes=nothing, write_str=nothing, close=nothing, download_manager=None)  # type: ignore[arg-type]
    await screen.set_terminal_size(100_000, 1)
    assert (sent[0]["width"], sent[0]["height"]) == (MOST[0], LEAST[1])


@pytest.mark.parametrize(
    ("term", "bare"), [("linux", True), ("xterm-256color", False), ("vt100", True)], ids=str
)
def test_a_bare_console_is_known_by_its_name(monkeypatch: pytest.MonkeyPatch, term: str, bare: bool) -> None:
    monkeypatch.setenv("TERM", term)
    assert bare_console() is bare


@pytest.mark.parametrize(
    ("locale", "encoding", "lacking"),
    [
        ({}, "utf-8", False),
        ({"LANG": "en_GB.UTF-8"}, "utf-8", False),
        ({"LANG": "C"}, "utf-8", True),
        ({"LANG": "en_GB.UTF-8", "LC_ALL": "C"}, "utf-8", True),
        ({"LC_CTYPE": "C.utf8", "LANG": "de_DE.ISO-8859-1"}, "utf-8", False),
        ({"LANG": "en_GB.UTF-8"}, "iso8859-1", True),
    ],
    ids=str,
)
def test_a_terminal_without_utf8_is_known_by_its_locale(
    monkeypatch: pytest.MonkeyPatch, locale: dict[str, str], encoding: str, lacking: bool
) -> None:
    """LC_ALL before LC_CTYPE before LANG (POSIX, chapter 8.2, from memory)."""

    class Out:
        pass

    out = Out()
    out.encoding = encoding  # type: ignore[attr-defined]
    monkeypatch.setattr("sys.stdout", out)
    for name in ("LC_ALL", "LC_CTYPE", "LANG"):
        monkeypatch.delenv(name, raising=False)
    for name, value in locale.items():
        monkeypatch.setenv(name, value)
    assert not_utf8() is lacking
