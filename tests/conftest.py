"""What every test shares: a cache of its own, and which tests the machine at hand can run."""

import os
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.cache import cache
from django.core.files.storage import default_storage
from django.db import connection
from moto import mock_aws

from sitetrack.kit.collector import settle_collector
from tests.receiver import Receiver

REQUIRED = "required"
# What locks, counts and writes many rows at once, and so may differ between data bases; .ci/run has it on both.
ASKS_THE_DATABASE = (
    "tests/access/",
    "tests/inspections/selectors/",
    "tests/inspections/services/",
    "tests/inspections/sync/",
    "tests/kit/",
    "tests/openings/selectors/",
    "tests/openings/services/",
    "tests/operations/",
)


def _why_not_services() -> str:
    if "postgres" not in os.environ.get("DATABASE_URL", ""):
        return "needs PostgreSQL: set DATABASE_URL"
    if not os.environ.get("TEST_REDIS_URL"):
        return "needs Redis: set TEST_REDIS_URL"
    return ""


def _why_not_browser() -> str:
    if not shutil.which("chromium"):
        return "needs Debian's Chromium: apt-get install chromium"
    if not os.environ.get("TEST_BROWSER"):
        return "slow: set TEST_BROWSER=1 to run"
    return ""


@pytest.hookimpl(tryfirst=True)  # before pytest chooses by marker
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip, saying why, what needs something that is not here; unless it was said to be required."""
    for item in items:
        if any(folder in item.path.as_posix() for folder in ASKS_THE_DATABASE):
            item.add_marker(pytest.mark.either_database)
    for marker, reason, variable in (
        ("services", _why_not_services(), "TEST_SERVICES"),
        ("browser", _why_not_browser(), "TEST_BROWSER"),
    ):
        if not reason:
            continue
        if os.environ.get(variable) == REQUIRED:
            raise pytest.UsageError(f"{variable}=required, but a test {reason}")
        for item in items:
            if item.get_closest_marker(marker):
                item.add_marker(pytest.mark.skip(reason=reason))


@pytest.fixture(autouse=True, scope="session")
def _settled_collector() -> None:
    """As in the processes that serve; the suite takes a good deal less time as well."""
    settle_collector()


@pytest.fixture(autouse=True, scope="session")
def _static_folder() -> None:
    """Collecting static files makes it; without it every request warns."""
    Path(settings.STATIC_ROOT).mkdir(parents=True, exist_ok=True)


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """Let SQLite be emptied between tests of the browser: that is done row by row, which the audit trail refuses.

    The trigger is dropped by name, so that this fails where the migrations made none.

    A browser keeps its lines open, and a thread of the live server holds its connection as long as its line: PostgreSQL
    would not drop the test's data base beneath it, so it is closed from here first.
    """
    with django_db_blocker.unblock():
        if connection.vendor == "sqlite":
            with connection.cursor() as cursor:
                cursor.execute("DROP TRIGGER access_recordedchange_no_delete")
    yield
    with django_db_blocker.unblock():
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute(
                    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
                    " WHERE datname = current_database() AND pid <> pg_backend_pid()"
                )


@pytest.fixture
def receiver(settings: Any) -> Iterator[Receiver]:
    """Somebody outside, on this machine, who may be told."""
    settings.WEBHOOK_ALLOW_PRIVATE = {"127.0.0.1"}
    server = Receiver()
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server
    server.shutdown()
    server.server_close()


@pytest.fixture
def bucket(settings: Any, monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    """Uploads on object storage: a bucket of an independent implementation of the protocol, in memory."""
    for name in ("AWS_ACCESS_KEY_ID", "AWS_SECRET_ACCESS_KEY"):
        monkeypatch.setenv(name, "testing")
    monkeypatch.setenv("AWS_DEFAULT_REGION", "us-east-1")
    with mock_aws():
        options = {"bucket_name": "sitetrack-test", "file_overwrite": False}
        settings.STORAGES = settings.STORAGES | {
            "default": {"BACKEND": "storages.backends.s3.S3Storage", "OPTIONS": options}
        }
        default_storage.connection.create_bucket(Bucket="sitetrack-test")
        yield default_storage


@pytest.fixture(autouse=True)
def _empty_cache() -> None:
    cache.clear()
