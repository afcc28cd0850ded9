"""Running it for real: settings that must be there, and the work of cron where no worker runs."""

import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import call_command

from openings.models import DirtyOpening
from sitetrack.kit.clock import now
from sitetrack.operations.management.commands.due import DUE
from tests import builders as b

# Once a day, and not owed to anyone who waits: `manage.py tidy` does the one; the other only looks.
DAILY = {"inspections.tasks.audit_projection", "sitetrack.operations.tasks.tidy_up"}


def starts(tmp_path: Path, **given: str) -> subprocess.CompletedProcess[str]:
    """What the settings say to these variables and no others."""
    plain = {name: os.environ[name] for name in ("PATH", "LANG") if name in os.environ}
    return subprocess.run(
        [sys.executable, "-c", "import sitetrack.settings"],
        env=plain | {"SITETRACK_DATA": str(tmp_path)} | given,
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
        check=False,
    )


def test_production_without_its_secret_does_not_start_and_says_which(tmp_path: Path) -> None:
    assert starts(tmp_path).returncode == 0
    refused = starts(tmp_path, SITETRACK_PRODUCTION="1")
    assert refused.returncode != 0
    assert "SECRET_KEY is not set" in refused.stderr
    assert starts(tmp_path, SITETRACK_PRODUCTION="1", SECRET_KEY="long" * 20).returncode == 0


def test_every_variable_that_is_read_is_named_at_the_top_of_the_settings() -> None:
    text = (settings.BASE_DIR / "sitetrack" / "settings.py").read_text(encoding="utf-8")
    _, named, code = text.split('"""', 2)
    read = set(re.findall(r'environ(?:\.get\(|\[)"([A-Z_]+)"', code))
    assert "SECRET_KEY" in read
    assert {name for name in read if name not in named} == set()


@pytest.mark.django_db
def test_cron_does_what_workers_would_have_been_handed(django_capture_on_commit_callbacks: Any) -> None:
    handed = {entry["task"] for entry in settings.CELERY_BEAT_SCHEDULE.values()}
    assert {task.name for task in DUE} == handed - DAILY
    site = b.site()
    opening = b.opening(site, "101")
    DirtyOpening.objects.create(site=site, opening=opening, marked_at=now())
    with django_capture_on_commit_callbacks(execute=True):
        call_command("due")
        call_command("due")
    assert not DirtyOpening.objects.exists()
