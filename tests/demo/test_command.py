"""`manage.py demo`: loaded once, refused where it must be, and never in the way of what already runs."""

import socket
from collections.abc import Iterator
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from inspections.models import CheckIn
from openings.models import Opening, Site
from sitetrack.access.models import Device, Person

FEW = 36


def demo(*args: str) -> str:
    out = StringIO()
    call_command("demo", *args, stdout=out)
    return out.getvalue()


@pytest.fixture
def taken_port() -> Iterator[int]:
    with socket.create_server(("127.0.0.1", 0)) as server:
        yield server.getsockname()[1]


@pytest.mark.django_db
def test_running_it_twice_does_no_harm() -> None:
    first = demo("--no-serve", "--openings", str(FEW))
    assert "Loading Quillmere Clinic: 36 openings" in first
    before = (CheckIn.objects.count(), Opening.objects.count(), Person.objects.count())
    assert before[0] > 500
    again = demo("--no-serve", "--openings", str(FEW))
    assert "already there" in again
    assert "Three things worth trying" in again
    assert (CheckIn.objects.count(), Opening.objects.count(), Person.objects.count()) == before
    assert Device.objects.filter(kind=Device.Kind.PROGRAM, revoked_at=None).count() == 1


@pytest.mark.django_db
def test_a_taken_port_is_said_before_anything_is_loaded(taken_port: int) -> None:
    with pytest.raises(CommandError, match=rf"Port {taken_port} is taken.*--port") as refused:
        demo("--port", str(taken_port))
    assert refused.value.returncode == 1
    assert not Site.objects.exists()


@pytest.mark.django_db
def test_without_serving_a_taken_port_is_no_matter(taken_port: int) -> None:
    Site.objects.create(code="quillmere", name="Quillmere Clinic")
    assert "already there" in demo("--no-serve", "--port", str(taken_port))


@pytest.mark.django_db
def test_it_is_served_where_it_says(monkeypatch: pytest.MonkeyPatch, settings: Any) -> None:
    settings.PUBLIC_URL = "http://127.0.0.1:8000"
    monkeypatch.delenv("PUBLIC_URL", raising=False)
    Site.objects.create(code="quillmere", name="Quillmere Clinic")
    called: list[tuple[Any, ...]] = []
    monkeypatch.setattr("sitetrack.demo.management.commands.demo.call_command", lambda *a, **k: called.append((a, k)))
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    words = demo("--port", str(port))
    assert f"http://127.0.0.1:{port}/" in words
    assert called[-1] == (("runserver", f"127.0.0.1:{port}"), {"use_reloader": False, "skip_checks": True})
    assert f"http://127.0.0.1:{port}" == settings.PUBLIC_URL, "and so do the links to it"


@pytest.mark.django_db
def test_it_is_not_loaded_in_production(settings: Any) -> None:
    settings.PRODUCTION = True
    with pytest.raises(CommandError, match="SITETRACK_PRODUCTION"):
        demo("--no-serve")
    assert not Site.objects.exists()


@pytest.mark.parametrize("args", [("--openings", "5"), ("--openings", "5000"), ("--port", "0"), ("--port", "70000")])
@pytest.mark.django_db
def test_a_number_out_of_its_range_is_named_with_the_range(args: tuple[str, str]) -> None:
    with pytest.raises(CommandError, match=rf"{args[0]} {args[1]}: expected a number from"):
        demo("--no-serve", *args)
    assert not Site.objects.exists()
