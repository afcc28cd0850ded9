"""Somebody outside who is told of a site: an HTTP server that answers as it is told and keeps what came."""

import time
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any


class Receiver(ThreadingHTTPServer):
    """Answers as it is told and keeps what came."""

    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Handler)
        self.status, self.wait, self.huge, self.location, self.retry_after = 204, 0.0, False, "", ""
        self.came: list[tuple[dict[str, str], bytes]] = []

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.server_address[1]}/hook"


class Handler(BaseHTTPRequestHandler):
    server: Receiver

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.server.came.append((dict(self.headers), body))
        time.sleep(self.server.wait)
        try:
            self.send_response(self.server.status)
            if self.server.location:
                self.send_header("Location", self.server.location)
            if self.server.retry_after:
                self.send_header("Retry-After", self.server.retry_after)
            self.end_headers()
            while self.server.huge:
                self.wfile.write(b"x" * 65536)
        except OSError:
            self.close_connection = True

    def do_GET(self) -> None:
        self.server.came.append(({}, b"followed"))

    def log_message(self, *given: Any) -> None:
        pass
