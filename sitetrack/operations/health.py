"""What a balancer and a monitor ask. Answered before anything else, so that neither a host name nor HTTPS is needed.

/healthz   the process answers; nothing else is looked at, so that a data base that is away doesn't restart every server
/readyz    this process can do its work: the data base answers and its tables are up to date; else 503. What it can do
           without for a while (broker, room for photos) is told and takes no server out of service
/metrics   figures for monitoring, to those who send METRICS_TOKEN as a bearer token; without that setting, nothing
"""

import secrets
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

import redis
from django.conf import settings
from django.core.cache import cache
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse, HttpResponseNotFound, JsonResponse

from sitetrack.kit.clock import now
from sitetrack.operations.figures import CONTENT_TYPE, figures_text

LEAST_FREE_BYTES = 200_000_000
PROBE = "operations.ready"

View = Callable[[HttpRequest], HttpResponse]


def health_checks(get_response: View) -> View:
    """Middleware: answers the three addresses, hands the rest on."""
    answers = {"/healthz": alive, "/readyz": ready, "/metrics": metrics}

    def answer(request: HttpRequest) -> HttpResponse:
        own = answers.get(request.path_info)
        if not own:
            return get_response(request)
        response = own(request) if request.method in {"GET", "HEAD"} else HttpResponse(status=405)
        response["Cache-Control"] = "no-store"
        return response

    return answer


def alive(request: HttpRequest) -> HttpResponse:
    """The process is there and takes requests."""
    return JsonResponse({"status": "alive"})


def ready(request: HttpRequest) -> HttpResponse:
    """Each thing this process needs, and what is wrong with it; 503 if it can't work without."""
    found = {name: check() for name, check in (NEEDED | TOLD).items()}
    able = not any(found[name] for name in NEEDED)
    status = "not ready" if not able else "limping" if any(found.values()) else "ready"
    said = {name: problem or "well" for name, problem in found.items()}
    return JsonResponse({"status": status, "checks": said}, status=200 if able else 503)


def metrics(request: HttpRequest) -> HttpResponse:
    """The figures, to those who know the token; to others there is nothing here."""
    wanted, given = settings.METRICS_TOKEN, request.headers.get("Authorization", "")
    if not wanted or not secrets.compare_digest(given.encode(), f"Bearer {wanted}".encode()):
        return HttpResponseNotFound()
    return HttpResponse(figures_text(now()), content_type=CONTENT_TYPE)


def _database() -> str:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return "does not answer"
    return ""


def _tables() -> str:
    try:
        executor = MigrationExecutor(connection)
        owed = executor.migration_plan(executor.loader.graph.leaf_nodes())
    except DatabaseError:
        return "not known: the data base does not answer"
    return f"{len(owed)} migrations are owed: run manage.py migrate" if owed else ""


def _files() -> str:
    root = Path(settings.MEDIA_ROOT)
    try:
        root.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=root) as probe:
            probe.write(b"room")
            probe.flush()
        free = shutil.disk_usage(root).free
    except OSError as error:
        return f"can't be written: {error.strerror}"
    return "" if free >= LEAST_FREE_BYTES else f"{free // 1_000_000} MB left, less than {LEAST_FREE_BYTES // 1_000_000}"


def _broker() -> str:
    """The cache answers as the broker does: they are one server."""
    if not settings.REDIS_URL:
        return ""
    try:
        cache.set(PROBE, 1, 5)
    except (redis.RedisError, OSError):
        return "does not answer; check-ins are still taken, and worked out when it is back"
    return ""


NEEDED: dict[str, Callable[[], str]] = {"database": _database, "tables": _tables}
TOLD: dict[str, Callable[[], str]] = {"files": _files, "broker": _broker}
