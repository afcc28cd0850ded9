"""The server as it is deployed: restarted and upgraded while phones send, and kept running by supervisord."""

import http.client
import os
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.request import Request, urlopen

import psutil
import pytest
from django.db import connection
from prometheus_client.parser import text_string_to_metric_families

from openings.models import DirtyOpening
from sitetrack.kit.clock import now
from tests import builders as b
from tests.services.conftest import ROOT, Processes, wait_for
from tests.services.phones import Phone, all_answers, at_work, rest, stored_once

pytestmark = [pytest.mark.services, pytest.mark.django_db(transaction=True)]
DATABASE_PORT = int(connection.settings_dict["PORT"] or 5432)
CONFIGURED = str(ROOT / "sitetrack" / "deploy" / "supervisord.conf")


def processes_of(master: int) -> frozenset[psutil.Process]:
    """The processes that answer for a master."""
    return frozenset(psutil.Process(master).children())


def at_the_data_base(process: psutil.Process) -> bool:
    """Whether it has loaded and answered something: while phones send, all who listen soon have."""
    try:
        return any(line.raddr and line.raddr.port == DATABASE_PORT for line in process.net_connections("tcp"))
    except psutil.Error:
        return False


def at_work_all(master: int) -> bool:
    """Whether every process of a master is."""
    found = processes_of(master)
    return bool(found) and all(map(at_the_data_base, found))


def test_a_reload_and_an_upgrade_of_the_server_refuse_no_push(processes: Processes, tmp_path: Path):
    openings = b.openings(b.site(), 6)
    pid_file = tmp_path / "web.pid"
    processes.start_web("--pid", str(pid_file))
    phones, stop = at_work(processes, openings, 4, pace=0.1)
    began, master = time.monotonic(), int(pid_file.read_text())
    for _ in range(4):
        time.sleep(2)
        old = processes_of(master)
        os.kill(master, signal.SIGHUP)
        # As the runbook has it: the next step is taken when the new processes answer, however slow the machine is.
        wait_for("the reload", lambda: old.isdisjoint(processes_of(master)) and processes.answers(), 90)  # noqa: B023
    time.sleep(2)
    os.kill(master, signal.SIGUSR2)
    new = tmp_path / "web.pid.2"
    wait_for("the new master", lambda: new.exists() and new.read_text().strip(), 90)
    wait_for("the new master's processes", lambda: at_work_all(int(new.read_text())), 90)
    os.kill(master, signal.SIGTERM)
    processes.running["web"].wait(timeout=90)
    wait_for("the new master alone", lambda: pid_file.exists() and int(pid_file.read_text()) != master)
    time.sleep(2)
    rest(phones, stop)
    took, answers = time.monotonic() - began, all_answers(phones)
    assert set(answers) == {"200"}, answers
    print(
        f"\n4 reloads and 1 upgrade in {took:.0f} s: {stored_once(phones)} check-ins in {answers['200']} pushes, "
        f"0 failed, 0 lost; the longest took {max(p.longest for p in phones):.2f} s"
    )


def test_figures_of_all_processes_are_added_up(processes: Processes):
    opening = b.opening(b.site())
    token = b.device(opening.site, b.crew(opening.site))[1]
    processes.environment["METRICS_TOKEN"] = "only-for-this-test"
    processes.start_web()
    for n in range(30):
        processes.push(token, b.batch(b.push_item(opening, "receive", "note", counter=n), device_time=now()))
    asked = Request(f"{processes.base}/metrics", headers={"Authorization": "Bearer only-for-this-test"})
    for _ in range(10):  # whichever process answers
        with urlopen(asked, timeout=10) as answer:
            families = text_string_to_metric_families(answer.read().decode())
        stored = [
            s.value
            for family in families
            for s in family.samples
            if s.name == "sitetrack_push_items_total" and s.labels["outcome"] == "stored"
        ]
        assert stored == [30.0]


def listens(port: int) -> bool:
    """Whether anybody does, at this port."""
    with socket.socket() as line:
        return line.connect_ex(("127.0.0.1", port)) == 0


def answer_of(processes: Processes, path: str, headers: dict[str, str]) -> http.client.HTTPResponse:
    """One answer, redirections not followed."""
    line = http.client.HTTPConnection("127.0.0.1", processes.port, timeout=30)
    line.request("GET", path, headers=headers)
    answer = line.getresponse()
    answer.read()
    line.close()
    return answer


def test_in_production_nothing_is_said_in_the_clear_and_browsers_are_told_so(processes: Processes):
    """RFC 6797 (HSTS): told over HTTPS only, and what comes in the clear is sent to HTTPS."""
    processes.environment |= {
        "SITETRACK_PRODUCTION": "1", "SECRET_KEY": "x1" * 40, "PUBLIC_URL": "https://site.example", "NUM_PROXIES": "1",
    }  # fmt: skip
    processes.start("web", "gunicorn", "-c", "sitetrack/deploy/gunicorn.conf.py", "--log-level", "error")
    wait_for("the web server", lambda: listens(processes.port))
    clear = answer_of(processes, "/sign-in", {})
    assert (clear.status, clear.headers["Location"][:8]) == (301, "https://")
    assert clear.headers["Strict-Transport-Security"] is None
    behind = answer_of(processes, "/sign-in", {"X-Forwarded-Proto": "https"})
    assert behind.status == 200
    assert behind.headers["Strict-Transport-Security"] == "max-age=31536000; includeSubDomains; preload"
    assert "Secure" in behind.headers["Set-Cookie"]


@contextmanager
def supervised(processes: Processes) -> Iterator[subprocess.Popen[bytes]]:
    """All of it, kept running by supervisord; ended as the machine ends it."""
    here = str(Path(sys.executable).parent)
    environment = processes.environment | {"PATH": f"{here}:{processes.environment['PATH']}"}
    processes.environment = environment
    keeper = subprocess.Popen(
        ["supervisord", "-c", CONFIGURED], cwd=ROOT, env=environment, start_new_session=True,
        stdout=subprocess.DEVNULL, stderr=subprocess.STDOUT, executable=shutil.which("supervisord", path=here),
    )  # fmt: skip
    try:
        yield keeper
    finally:
        keeper.terminate()
        keeper.wait(timeout=150)


def pid_of(processes: Processes, program: str) -> int:
    """The process that supervisord runs for a program; 0 where there is none."""
    asked = subprocess.run(
        [shutil.which("supervisorctl", path=processes.environment["PATH"]) or "", "-c", CONFIGURED, "pid", program],
        env=processes.environment, capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    return int(asked.stdout) if asked.stdout.strip().isdigit() else 0


def test_supervisord_brings_back_what_was_killed(processes: Processes):
    opening = b.opening(b.site())
    token = b.device(opening.site, b.crew(opening.site))[1]
    took = {}
    with supervised(processes) as keeper:
        wait_for("web", processes.answers, 90)
        for program in ("web", "worker", "beat"):
            before = pid_of(processes, program)
            assert before, program
            os.kill(before, signal.SIGKILL)
            took[program] = wait_for(program, lambda: pid_of(processes, program) not in {0, before}, 60)  # noqa: B023
        took["web"] += wait_for("web", processes.answers, 60)
        phone = Phone(processes, token, [opening], threading.Event())
        phone.send(phone.make_batch())  # again where it is broken off: the killed master's processes end in their time
        stored_once([phone])
        wait_for("the pushed opening", lambda: not DirtyOpening.objects.exists(), 90)
        # Owed, and nobody was told of it: only beat has the sweep done.
        DirtyOpening.objects.create(site=opening.site, opening=opening, marked_at=now())
        took["sweep"] = wait_for("the sweep", lambda: not DirtyOpening.objects.exists(), 90)
    assert keeper.returncode == 0
    assert not processes.answers(), "it was told to end"
    print("\nback after SIGKILL: " + ", ".join(f"{name} {seconds:.1f} s" for name, seconds in took.items()))
