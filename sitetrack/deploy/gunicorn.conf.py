# ruff: noqa: INP001 - read by the server as a file, not imported
"""The web server: `gunicorn -c sitetrack/deploy/gunicorn.conf.py` from the folder that holds manage.py.

BIND            address and port, or unix:/path; default 127.0.0.1:8000. TLS ends in the proxy in front
WEB_PROCESSES   default: as many as processors, at least two
WEB_THREADS     of each, default eight; each may hold one connection of the data base

SIGHUP takes over new code and settings without refusing anybody: new processes start, the old ones finish what they
have begun. Nothing is loaded before the processes part, or they would go on with the old code.
"""

import multiprocessing
import os
import shutil
import tempfile
from pathlib import Path
from typing import Any

from prometheus_client import multiprocess

wsgi_app = "sitetrack.wsgi"
bind = os.environ.get("BIND", "127.0.0.1:8000")
workers = int(os.environ.get("WEB_PROCESSES", "0")) or max(2, multiprocessing.cpu_count())
# Threads, because a phone at the edge of its signal takes long over a request, and must hold up nobody else.
worker_class = "gthread"
threads = int(os.environ.get("WEB_THREADS", "8"))
preload_app = False
timeout = 120  # a process that says nothing for so long is stuck; the largest schedule takes less
graceful_timeout = 60
keepalive = 5
# What a library may leak goes with its process; by chance, so that they don't all go at once.
max_requests = 20_000
max_requests_jitter = 2_000
control_socket_disable = True  # signals do what is needed, and two servers of one account would share it
accesslog = None  # the project logs each request itself, without addresses

# The processes' figures are added up in a folder, a new one at each start; reloading keeps it, as does an upgrade of
# the server itself, which inherits the environment.
FIGURES = os.environ.setdefault("PROMETHEUS_MULTIPROC_DIR", tempfile.mkdtemp(prefix="sitetrack-figures-"))
Path(FIGURES).mkdir(parents=True, exist_ok=True)


def child_exit(server: Any, worker: Any) -> None:
    """A process ended, whatever ended it: it is no more among those that live; what it counted stays counted."""
    multiprocess.mark_process_dead(worker.pid)


def on_exit(server: Any) -> None:
    """The figures go with the last master."""
    if not server.reexec_pid and not server.master_pid:
        shutil.rmtree(FIGURES, ignore_errors=True)
