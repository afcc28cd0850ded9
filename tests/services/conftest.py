"""Real web and worker processes on the test data base, started and killed by the tests."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from http.client import HTTPException
from pathlib import Path
from typing import Any
from urllib.error import HTTPError
from urllib.parse import quote
from urllib.request import Request, urlopen

import pytest
import redis
from django.db import connection

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 40.0


def wait_for(what: str, true: Callable[[], bool], seconds: float = PATIENCE) -> float:
    """Wait until something holds; how long it took. Fails the test, saying what never came."""
    began = time.monotonic()
    while time.monotonic() - began < seconds:
        if true():
            return time.monotonic() - began
        time.sleep(0.1)
    raise AssertionError(f"{what}: not within {seconds:g} s")


@dataclass
class Processes:
    """Web server and worker of one test, on its data base and its own Redis number."""

    environment: dict[str, str]
    port: int
    running: dict[str, subprocess.Popen[bytes]] = field(default_factory=dict)

    @property
    def base(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self, name: str, *command: str) -> None:
        program = str(Path(sys.executable).with_name(command[0]))  # as it is run for real, not as a module
        self.running[name] = subprocess.Popen(
            [program, *command[1:]], cwd=ROOT, env=self.environment, start_new_session=True
        )

    def start_web(self, *options: str) -> None:
        """As it is run for real."""
        self.start("web", "gunicorn", "-c", "sitetrack/deploy/gunicorn.conf.py", "--log-level", "error", *options)
        wait_for("the web server", self.answers)

    def start_worker(self, *, beat: bool = False) -> None:
        beat_options = ["-B", "-s", str(Path(self.environment["SITETRACK_DATA"]) / "beat")] if beat else []
        self.start("worker", "celery", "-A", "sitetrack", "worker", "-c", "2", "-l", "error", *beat_options)

    def kill(self, name: str) -> None:
        """SIGKILL, to the whole group: nothing gets to clean up."""
        process = self.running.pop(name, None)
        if process:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()

    def answers(self) -> bool:
        """Whether the web server answers, with whatever but a fault."""
        try:
            urlopen(f"{self.base}/api/v1/me", timeout=5)
        except HTTPError as answer:
            return answer.code < 500
        except (OSError, HTTPException):
            return False
        return True

    def push(self, token: str, body: dict[str, Any]) -> list[dict[str, Any]]:
        """One push over real HTTP, as a phone sends it; the results."""
        headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
        request = Request(f"{self.base}/api/v1/sync/push", json.dumps(body).encode(), headers)
        with urlopen(request, timeout=30) as answer:
            results: list[dict[str, Any]] = json.load(answer)["results"]
        return results


@pytest.fixture
def processes(transactional_db: None, tmp_path: Path) -> Iterator[Processes]:
    """Nothing started yet; everything killed afterwards."""
    url = os.environ["TEST_REDIS_URL"]
    redis.Redis.from_url(url).flushdb()
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    db = connection.settings_dict
    password = f":{quote(db['PASSWORD'])}" if db["PASSWORD"] else ""
    (tmp_path / "figures").mkdir()
    environment = os.environ | {
        "DATABASE_URL": f"postgres://{db['USER']}{password}@{db['HOST']}:{db['PORT']}/{db['NAME']}",
        "REDIS_URL": url,
        "SITETRACK_DATA": str(tmp_path),
        "SECRET_KEY": "only for this test, never anywhere else",
        "ALLOWED_HOSTS": "127.0.0.1",
        "BIND": f"127.0.0.1:{port}",
        "WEB_PROCESSES": "2",
        "PROMETHEUS_MULTIPROC_DIR": str(tmp_path / "figures"),
        "C_FORCE_ROOT": "1",
    }
    started = Processes(environment, port)
    yield started
    for name in list(started.running):
        started.kill(name)
    redis.Redis.from_url(url).flushdb()
