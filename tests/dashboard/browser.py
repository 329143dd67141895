"""A real browser without a window, driven over its debugging port: pages, keys, a click, a picture.

The protocol is the public one of the browser (devtools-protocol, from memory).
"""

import asyncio
import base64
import itertools
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any, Self

import aiohttp

PROGRAM = next(
    (p for name in ("chromium", "chromium-browser", "google-chrome") if (p := shutil.which(name))), None
)
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--remote-debugging-port=0", "--no-first-run")


class Browser:
    """One tab of a browser of its own, closed with everything it started."""

    def __init__(self, wide: int, high: int, telephone: bool = False) -> None:
        self._size = {"width": wide, "height": high, "deviceScaleFactor": 1, "mobile": telephone}
        self._numbers = itertools.count(1)
        self._home = tempfile.mkdtemp(prefix="browser-")

    async def __aenter__(self) -> Self:
        assert PROGRAM is not None
        words = [PROGRAM, *FLAGS, f"--user-data-dir={self._home}", "about:blank"]
        self._process = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        port_file = Path(self._home) / "DevToolsActivePort"
        for _ in range(600):
            if port_file.exists() and port_file.read_text().count("\n"):
                break
            await asyncio.sleep(0.05)
        port = port_file.read_text().splitlines()[0]
        self._session = aiohttp.ClientSession()
        async with self._session.get(f"http://127.0.0.1:{port}/json/list") as answer:
            (page,) = [tab for tab in await answer.json() if tab["type"] == "page"]
        self._socket = await self._session.ws_connect(page["webSocketDebuggerUrl"], max_msg_size=2**26)
        await self.send("Page.enable")
        await self.send("Emulation.setDeviceMetricsOverride", **self._size)
        return self

    async def __aexit__(self, *_: object) -> None:
        await self._socket.close()
        await self._session.close()
        self._process.kill()
        self._process.wait()
        shutil.rmtree(self._home, ignore_errors=True)

    async def send(self, method: str, **params: Any) -> dict[str, Any]:
        """Send one command and return its result."""
        number = next(self._numbers)
        await self._socket.send_json({"id": number, "method": method, "params": params})
        while True:
            said = await self._socket.receive_json(timeout=60.0)
            if said.get("id") == number:
                assert "error" not in said, said
                return dict(said["result"])

    async def open(self, url: str) -> None:
        await self.send("Page.navigate", url=url)

    async def js(self, code: str) -> Any:
        """Return what an expression of the page is."""
        found = await self.send("Runtime.evaluate", expression=code, awaitPromise=True, returnByValue=True)
        return found["result"].get("value")

    async def until(self, code: str, timeout_s: float = 60.0) -> Any:
        """Return what an expression is as soon as it is true."""
        for _ in range(int(timeout_s / 0.1)):
            if found := await self.js(code):
                return found
            await asyncio.sleep(0.1)
        raise AssertionError(f"never true: {code}; the page says: {await self.js('document.body.innerText')}")

    async def key(self, key: str, code: int, modifiers: int = 0) -> None:
        """Press and release a key that types no letter; `modifiers` is 2 with Ctrl."""
        for kind in ("rawKeyDown", "keyUp"):
            await self.send(
                "Input.dispatchKeyEvent",
                type=kind, key=key, code=key, windowsVirtualKeyCode=code, modifiers=modifiers,
            )  # fmt: skip

    async def drag(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        """Draw the mouse from one place to another with its left button held."""
        for kind, (x, y), held in (
            ("mousePressed", start, 1), ("mouseMoved", end, 1), ("mouseReleased", end, 0)
        ):  # fmt: skip
            await self.send(
                "Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", buttons=held, clickCount=1
            )

    async def click(self, selector: str) -> None:
        """Press the left button in the middle of an element."""
        where = await self.js(
            f"(()=>{{const r=document.querySelector({selector!r}).getBoundingClientRect();"
            "return [r.x+r.width/2, r.y+r.height/2]})()"
        )
        for kind in ("mousePressed", "mouseReleased"):
            await self.send(
                "Input.dispatchMouseEvent", type=kind, x=where[0], y=where[1], button="left", clickCount=1
            )

    async def picture(self, path: Path) -> None:
        """Write what is seen as PNG."""
        found = await self.send("Page.captureScreenshot", format="png")
        path.write_bytes(base64.b64decode(found["data"]))
