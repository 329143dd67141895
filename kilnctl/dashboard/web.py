"""The same screen in a browser on this computer: read-only, plus off. Needs the extra `kilnctl[web]`."""

import shlex
import sys
from pathlib import Path

from aiohttp import web
from aiohttp.typedefs import Handler, Middleware
from textual_serve.server import Server

HOST = "127.0.0.1"
PAGE = Path(__file__).with_name("page")  # the library's own page asks a public host for a font
# Pages of this server may load nothing from elsewhere.
POLICY = "default-src 'self' 'unsafe-inline' 'unsafe-eval' data: blob:; connect-src 'self' ws://{host}:{port}"


def command(oven: str | None) -> str:
    """Return the command line of the screen that is started for each browser tab."""
    words = [sys.executable, "-m", "kilnctl.cli.main", "watch", "--read-only"]
    return shlex.join(words + (["--oven", oven] if oven else []))


class Loopback(Server):
    """A server for this computer only. Requests that another site or another name makes are refused."""

    def __init__(self, oven: str | None, port: int) -> None:
        super().__init__(command(oven), host=HOST, port=port, title="kilnctl", templates_path=PAGE)

    async def on_startup(self, app: web.Application) -> None:
        """Say nothing of the library: the command has said where the page is."""

    async def _make_app(self) -> web.Application:
        app = await super()._make_app()
        app.middlewares.append(guard(self.port))
        return app


def guard(port: int) -> Middleware:
    """Return the check that every request passes: a page of another site could reach a local port too."""
    names = {f"{name}:{port}" for name in (HOST, "localhost")}
    origins = {f"http://{name}" for name in names}
    policy = POLICY.format(host=HOST, port=port)

    @web.middleware
    async def check(request: web.Request, handler: Handler) -> web.StreamResponse:
        origin = request.headers.get("Origin")
        if request.host not in names or (origin is not None and origin not in origins):
            raise web.HTTPForbidden(text="this page is for this computer only")
        response = await handler(request)
        if not response.prepared:
            response.headers["Content-Security-Policy"] = policy
        return response

    return check


def serve(oven: str | None, port: int) -> None:
    """Serve until interrupted."""
    Loopback(oven, port).serve()
