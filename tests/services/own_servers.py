"""A PostgreSQL and a Redis of a test's own, to be stopped and started while others use them."""

import contextlib
import os
import shutil
import socket
import subprocess
import tempfile
from pathlib import Path

import pytest


def free_port() -> int:
    """A port that nobody listens at."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
    return port


def not_here(why: str) -> None:
    """Skip, saying why; where services are required, fail."""
    if os.environ.get("TEST_SERVICES") == "required":
        pytest.fail(why)
    pytest.skip(why)


class OwnPostgres:
    """A cluster in a folder of its own, run by the account `postgres`, as the server itself insists on."""

    def __init__(self) -> None:
        found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
        if not found or os.geteuid() != 0 or not shutil.which("runuser"):
            not_here("needs PostgreSQL's own programs, and root to run them as postgres")
        self.bin = found[-1].parent
        self.folder = Path(tempfile.mkdtemp(prefix="own-postgres-"))
        shutil.chown(self.folder, "postgres")
        self.port = free_port()
        self._as_postgres("initdb", "-A", "trust", "-U", "postgres", "-D", str(self.folder / "data"))
        self.start()

    def start(self) -> None:
        options = f"-p {self.port} -k {self.folder} -c listen_addresses=127.0.0.1"
        self._ctl("start", "-w", "-l", str(self.folder / "log"), "-o", options)

    def stop(self, mode: str) -> None:
        """`fast` sends everybody away; `immediate` is what a crash is."""
        self._ctl("stop", "-w", "-m", mode)

    def copy_of(self, url: str) -> None:
        """Take over the tables of another data base."""
        into = [self.bin / "psql", "-q", "-h", "127.0.0.1", "-p", str(self.port), "-U", "postgres", "postgres"]
        with subprocess.Popen([self.bin / "pg_dump", "--no-owner", url], stdout=subprocess.PIPE) as given:
            subprocess.run(into, stdin=given.stdout, check=True, stdout=subprocess.DEVNULL, timeout=120)
        assert given.returncode == 0

    def remove(self) -> None:
        with contextlib.suppress(subprocess.CalledProcessError):  # it may be stopped already
            self.stop("immediate")
        shutil.rmtree(self.folder, ignore_errors=True)

    def _ctl(self, *arguments: str) -> None:
        self._as_postgres("pg_ctl", "-D", str(self.folder / "data"), *arguments)

    def _as_postgres(self, program: str, *arguments: str) -> None:
        subprocess.run(
            ["runuser", "-u", "postgres", "--", self.bin / program, *arguments],
            check=True, cwd="/", timeout=120, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip


class OwnRedis:
    """A broker that keeps nothing over its own end."""

    def __init__(self) -> None:
        self.program = shutil.which("redis-server") or ""
        if not self.program:
            not_here("needs redis-server")
        self.port = free_port()
        self.url = f"redis://127.0.0.1:{self.port}/0"
        self.process: subprocess.Popen[bytes] | None = None
        self.start()

    def start(self) -> None:
        self.process = subprocess.Popen(
            [self.program, "--port", str(self.port), "--bind", "127.0.0.1", "--save", "", "--appendonly", "no"],
            stdout=subprocess.DEVNULL,
        )

    def kill(self) -> None:
        if self.process:
            self.process.kill()
            self.process.wait()
            self.process = None


class OwnPooler:
    """PgBouncer in front of the data base of the tests: it lends its few connections for one transaction each."""

    def __init__(self, *, host: str, port: int, user: str, connections: int) -> None:
        self.program = shutil.which("pgbouncer") or ""
        if not self.program or os.geteuid() != 0:
            not_here("needs PgBouncer (apt-get install pgbouncer), and root to start it")
        self.port = free_port()
        self.folder = Path(tempfile.mkdtemp(prefix="own-pooler-"))
        settings = self.folder / "pooler.ini"
        lines = [
            "[databases]", f"* = host={host} port={port} user={user}",
            "[pgbouncer]", "listen_addr = 127.0.0.1", f"listen_port = {self.port}", "unix_socket_dir =",
            "auth_type = any", "pool_mode = transaction", f"default_pool_size = {connections}", "max_client_conn = 500",
        ]  # fmt: skip
        settings.write_text("\n".join(lines) + "\n")
        account = "postgres"  # it refuses to run as root
        shutil.chown(self.folder, account)
        self.process = subprocess.Popen(
            [self.program, "-q", "-u", account, str(settings)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )

    def remove(self) -> None:
        self.process.terminate()
        self.process.wait(timeout=30)
        shutil.rmtree(self.folder, ignore_errors=True)
