"""A real heat with a service that takes its time: news arrive, receipts are kept, the heat goes on."""

import json
import threading
import time
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest
from shop import Shop

from kilnctl.logbook.entries import Message, read
from kilnctl.logbook.readers import Reader

pytest.importorskip("apprise")
pytestmark = [pytest.mark.real_bytes, pytest.mark.slow, pytest.mark.on_demand]
SLOW_S = 3.0


@pytest.fixture
def service() -> Iterator[HTTPServer]:
    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            server.got.append(json.loads(body)["message"])
            time.sleep(SLOW_S)
            self.send_response(200)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    server = HTTPServer(("127.0.0.1", 0), Handler)
    server.got = []
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield server
    server.shutdown()
    server.server_close()
    thread.join()


def test_a_trip_reaches_the_telephone_and_the_logbook(tmp_path: Path, service: HTTPServer) -> None:
    shop = Shop(tmp_path, 10)
    home = tmp_path / "home"
    home.mkdir()
    file = home / "messages.toml"
    url = f"json://127.0.0.1:{service.server_port}/key"
    file.write_text(f'[[channel]]\nname = "phone"\nurl = "{url}"\n', encoding="utf-8")
    file.chmod(0o600)
    shop.simulate("--fault", "sensor-open@4min")
    words = ("--soak", "60C", "--for", "30min", "--time-scale", "10", "--json")
    done = shop.run("run", "--oven", str(shop.oven), *words)
    assert done.returncode == 4, done.stderr
    run = json.loads(done.stdout.splitlines()[-1])["run"]
    give_up_s = time.monotonic() + 90.0
    kept: list[Message] = []
    while not kept and time.monotonic() < give_up_s:
        time.sleep(0.2)
        with Reader(home / "logbook.sqlite") as reader:
            kept = read(reader, Message)
    shop.close()
    assert [(m.told, m.run, m.delivered) for m in kept] == [("trip", run, True)]
    assert kept[0].took_s >= SLOW_S
    assert "HEAT IS OFF, read back" in service.got[0]
    assert "red switch" in service.got[0]
