"""What a balancer and a monitor are answered."""

import json
import logging
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client
from prometheus_client.parser import text_string_to_metric_families

from openings.models import DirtyOpening
from sitetrack.kit.clock import now
from sitetrack.operations import health
from sitetrack.operations.log_lines import NameOfWork, json_lines
from tests import builders as b

pytestmark = pytest.mark.django_db

STRANGER = {"HTTP_HOST": "10.0.0.7"}  # as a balancer asks: by address, and without HTTPS


def ready(client: Client) -> tuple[int, dict[str, Any]]:
    response = client.get("/readyz", **STRANGER)
    return response.status_code, response.json()


def test_alive_asks_nothing_of_the_data_base(client: Client, django_assert_num_queries: Any) -> None:
    with django_assert_num_queries(0):
        response = client.get("/healthz", **STRANGER)
    assert (response.status_code, response.json()) == (200, {"status": "alive"})
    assert response["Cache-Control"] == "no-store"


def test_ready_when_all_is_well(client: Client) -> None:
    assert ready(client) == (
        200,
        {"status": "ready", "checks": {"database": "well", "tables": "well", "files": "well", "broker": "well"}},
    )


def test_not_ready_without_a_data_base_and_still_alive(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def gone(*_: Any) -> None:
        raise DatabaseError("connection refused: host db, user sitetrack")

    monkeypatch.setattr(connection, "cursor", gone)
    status, said = ready(client)
    assert (status, said["status"], said["checks"]["database"]) == (503, "not ready", "does not answer")
    assert "refused" not in json.dumps(said), "what the data base said names hosts and users"
    assert client.get("/healthz").status_code == 200


def test_not_ready_while_migrations_are_owed(client: Client) -> None:
    MigrationRecorder(connection).migration_qs.filter(app="inspections").last().delete()
    status, said = ready(client)
    assert (status, said["checks"]["tables"]) == (503, "1 migrations are owed: run manage.py migrate")


def test_a_full_disk_is_told_and_takes_no_server_away(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(health, "LEAST_FREE_BYTES", 10**18)
    status, said = ready(client)
    assert (status, said["status"]) == (200, "limping")
    assert "MB left" in said["checks"]["files"]


def test_a_folder_that_cant_be_written_is_told(client: Client, settings: Any, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    settings.MEDIA_ROOT = tmp_path / "file" / "uploads"
    assert ready(client)[1]["checks"]["files"].startswith("can't be written")


def test_a_broker_that_is_away_is_told(client: Client, settings: Any) -> None:
    settings.REDIS_URL = "redis://127.0.0.1:1/0"
    settings.CACHES = {
        "default": {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": settings.REDIS_URL}
    }
    status, said = ready(client)
    assert (status, said["status"]) == (200, "limping")
    assert said["checks"]["broker"].startswith("does not answer")


def test_only_asking_is_answered(client: Client) -> None:
    assert client.post("/healthz").status_code == 405


def figures(client: Client, token: str) -> dict[tuple[str, tuple[tuple[str, str], ...]], float]:
    response = client.get("/metrics", headers={"Authorization": f"Bearer {token}"}, **STRANGER)
    assert response.status_code == 200
    families = text_string_to_metric_families(response.content.decode())
    return {(s.name, tuple(sorted(s.labels.items()))): s.value for family in families for s in family.samples}


def test_figures_are_for_who_knows_the_token(client: Client, settings: Any) -> None:
    assert client.get("/metrics").status_code == 404, "without the setting there is nothing there"
    settings.METRICS_TOKEN = "only-for-this-test"
    assert client.get("/metrics").status_code == 404
    assert client.get("/metrics", headers={"Authorization": "Bearer other"}).status_code == 404
    assert figures(client, "only-for-this-test")


def test_figures_tell_what_is_owed_and_what_became_of_a_push(client: Client, settings: Any) -> None:
    settings.METRICS_TOKEN = token = "only-for-this-test"
    site = b.site()
    boss, opening = b.supervisor(site), b.opening(site, "101")
    before = figures(client, token)
    item = b.push_item(opening, "receive")
    sent = b.batch(item, item | {"id": "no id"})
    answered = b.client(boss).post("/api/v1/sync/push", sent).json()["results"]
    assert [r["outcome"] for r in answered] == ["stored", "refused"]
    DirtyOpening.objects.create(site=site, opening=opening, marked_at=now())
    after = figures(client, token)

    def grew(name: str, **labels: str) -> float:
        key = (name, tuple(sorted(labels.items())))
        return after[key] - before.get(key, 0)

    assert grew("sitetrack_push_items_total", outcome="stored") == 1
    assert grew("sitetrack_push_items_total", outcome="refused") == 1
    assert grew("sitetrack_owed", kind="openings to work out") == 1
    assert after["sitetrack_database_answers", ()] == 1
    route = {"route": "api/v1/sync/push", "method": "POST", "status": "200"}
    assert grew("sitetrack_request_seconds_count", **route) >= 1


def test_figures_when_the_data_base_is_away_say_so(
    client: Client, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.METRICS_TOKEN = token = "only-for-this-test"

    def gone(*_: Any) -> None:
        raise DatabaseError("away")

    monkeypatch.setattr("sitetrack.operations.figures.owed", gone)
    assert figures(client, token)["sitetrack_database_answers", ()] == 0


def test_every_answer_has_a_name_and_its_log_line_has_no_address(
    client: Client, settings: Any, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.INFO, logger="sitetrack.requests"):
        first = client.get("/s/quillmere/openings/B1-2014?lang=es", headers={"X-Request-ID": "a-strangers-name"})
        settings.AXES_IPWARE_PROXY_COUNT = 1
        second = client.get("/", headers={"X-Request-ID": "named-by-our-proxy"})
    assert len(first["X-Request-ID"]) == 36
    assert second["X-Request-ID"] == "named-by-our-proxy"
    told = [vars(record) for record in caplog.records]
    assert [(r["method"], r["status"]) for r in told] == [("GET", first.status_code), ("GET", second.status_code)]
    assert "B1-2014" not in str(told)
    assert all(r["ms"] >= 0 for r in told)


def test_a_log_line_is_one_json_object_with_the_request_it_was_written_for() -> None:
    record = logging.LogRecord("sitetrack.x", logging.ERROR, "f", 1, "broke: %s", ("why",), None)
    NameOfWork().filter(record)
    line = json.loads(json_lines().format(record))
    assert line.keys() >= {"at", "level", "from", "work", "message"}
    assert (line["level"], line["message"], line["work"]) == ("ERROR", "broke: why", "-")


def test_the_settings_know_both_forms_of_log() -> None:
    assert set(settings.LOGGING["formatters"]) == {"line", "json"}
