"""The project served by gunicorn over a data base of its own, for as long as something is measured over HTTP."""

import json
import os
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from http.client import HTTPConnection
from typing import Any

from django.conf import settings
from django.db import connection

WORKERS = 2
START_SECONDS = 60
REACHED_BY = ("ENGINE", "NAME", "USER", "PASSWORD", "HOST", "PORT")


class Client:
    """One kept-alive connection, as a phone keeps one."""

    def __init__(self, port: int, token: str) -> None:
        self._connection = HTTPConnection("127.0.0.1", port, timeout=600)
        self._headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}

    def ask(self, method: str, path: str, body: bytes | None = None) -> bytes:
        """The answer's body; raises RuntimeError for any answer but a good one."""
        self._connection.request(method, path, body, self._headers)
        answer = self._connection.getresponse()
        told = answer.read()
        if not 200 <= answer.status < 300:
            raise RuntimeError(f"{method} {path}: {answer.status} {told[:200].decode(errors='replace')}")
        return told

    def json(self, method: str, path: str, said: Any = None) -> Any:
        """The same with JSON both ways."""
        return json.loads(self.ask(method, path, None if said is None else json.dumps(said).encode()))


@dataclass(frozen=True, slots=True)
class Served:
    """Where the server answers, and the process that keeps its workers."""

    port: int
    process: int


@contextmanager
def served() -> Iterator[Served]:
    """Start gunicorn on a free port over the data base now in use. Throttles are off."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    with tempfile.TemporaryDirectory() as folder, tempfile.TemporaryFile() as said:
        command = [
            sys.executable, "-m", "gunicorn", "sitetrack.wsgi", "--bind", f"127.0.0.1:{port}",
            "--workers", str(WORKERS), "--log-level", "error", "--timeout", "600",
        ]  # fmt: skip
        server = subprocess.Popen(  # noqa: S603 - our own command
            command, cwd=settings.BASE_DIR, env=_environment(folder), stdout=said, stderr=subprocess.STDOUT
        )
        try:
            _wait_for(port, server)
            yield Served(port, server.pid)
        finally:
            server.terminate()
            server.wait(30)


def _environment(folder: str) -> dict[str, str]:
    made = connection.settings_dict
    told = {
        "DJANGO_SETTINGS_MODULE": "sitetrack.demo.bench.served_settings",
        "SITETRACK_DATA": folder,
        "BENCH_DATABASE": json.dumps({name: made[name] for name in REACHED_BY}, default=str),
    }
    return {
        name: value for name, value in os.environ.items() if name not in {"REDIS_URL", "SITETRACK_PRODUCTION"}
    } | told


def _wait_for(port: int, server: "subprocess.Popen[bytes]") -> None:
    until = time.monotonic() + START_SECONDS
    while time.monotonic() < until:
        if server.poll() is not None:
            raise RuntimeError("gunicorn did not start; run it by hand to see why")
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
        except OSError:
            time.sleep(0.2)
        else:
            return
    raise RuntimeError(f"gunicorn did not answer within {START_SECONDS} s")
