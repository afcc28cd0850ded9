"""The API's pages are enough: a program written from them alone reports a reading to a real server."""

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from inspections.models import CheckIn
from sitetrack.access.services.enrolment import make_enrolment_code
from sitetrack.kit.clock import now
from tests import builders as b

pytestmark = pytest.mark.django_db(transaction=True)
PROGRAM = Path(__file__).with_name("another_system.py")


def test_a_program_of_another_firm_reports_and_sends_again(live_server: Any) -> None:
    site = b.site()
    opening = b.opening(site)
    hand = b.crew(site)
    code = make_enrolment_code(site_id=site.pk, person=hand, who=b.supervisor(site), now=now())
    said = subprocess.run(
        [sys.executable, "-I", str(PROGRAM), f"{live_server.url}/api/v1", code, opening.number],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert said.stdout.split("\n")[:2] == ["stored pass", "known pass"], said.stderr
    assert CheckIn.objects.get().device.kind == "phone"


def test_the_guide_stands_on_top_of_the_pages(client: Client) -> None:
    told = client.get("/api/v1/schema", headers={"Accept": "application/json"}).json()["info"]["description"]
    for address in ("/devices/enrol", "/sync/pull", "/sync/push"):
        assert address in told
    assert "Retry-After" in told
