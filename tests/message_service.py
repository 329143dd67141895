"""A service for messages, on this machine: it takes them, or refuses them."""

import json
import threading
from http.server import BaseHTTPRequestHandler, HTTPServer


class Service:
    """A service that takes messages, or refuses them."""

    def __init__(self) -> None:
        self.got: list[str] = []
        self.status = 200
        service = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                body = self.rfile.read(int(self.headers["Content-Length"]))
                service.got.append(json.loads(body)["message"])
                self.send_response(service.status)
                self.end_headers()

            def do_GET(self) -> None:
                service.got.append(f"GET {self.path}")
                self.send_response(200)
                self.end_headers()

            def log_message(self, *_: object) -> None:
                """Say nothing."""

        self.server = HTTPServer(("127.0.0.1", 0), Handler)
        self.url = f"json://127.0.0.1:{self.server.server_port}/secret"
        self.thread = threading.Thread(target=self.server.serve_forever, daemon=True)
        self.thread.start()

    def close(self) -> None:
        self.server.shutdown()
        self.server.server_close()
        self.thread.join()
