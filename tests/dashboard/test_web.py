"""The browser page: loopback only, read-only, and closed to pages of other sites."""

import shlex

import pytest
from aiohttp import web
from aiohttp.test_utils import TestClient, TestServer, make_mocked_request
from textual_serve.server import Server

from kilnctl.cli.watch.watch import bare_console, not_utf8
from kilnctl.dashboard.web import HOST, Loopback, command, guard


async def ask(headers: dict[str, str]) -> web.StreamResponse:
    """Send a request through the guard of port 8765 to a page that always answers."""

    async def page(request: web.Request) -> web.StreamResponse:
        return web.Response(text="the screen")

    return await guard(8765)(make_mocked_request("GET", "/ws", headers=headers), page)


def test_only_the_loopback_interface_is_served() -> None:
    server = Loopback(None, 8765)
    assert isinstance(server, Server)
    assert server.host == HOST == "127.0.0.1"


def test_each_tab_gets_a_screen_that_can_only_switch_off() -> None:
    words = shlex.split(command("my oven"))
    assert words[1:] == ["-m", "kilnctl.cli.main", "watch", "--read-only", "--oven", "my oven"]


async def test_the_page_is_our_own_and_one_without_a_screen_does_not_look_live() -> None:
    """Nothing of the library is shown, and its script still knows the marks that the page goes by."""
    async with TestClient(TestServer(await Loopback(None, 8765)._make_app())) as client:
        here = {"Host": "127.0.0.1:8765"}
        page = await (await client.get("/", headers=here)).text()
        script = await (await client.get("/static/js/textual.js", headers=here)).text()
    assert "The screen is being started." in page
    assert "THIS PAGE HAS LOST ITS SCREEN." in page
    assert "The heat may be on: look at the oven. Off: kilnctl off in a terminal, or the isolator." in page
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
        await Loopback(None, 8765)._process_messages(socket, None)  # type: ignore[arg-type]
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
