"""What the desk's tests share."""

from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from openings.models import Site
from tests import builders as make
from tests.desk.looking import signed_in


@pytest.fixture(autouse=True)
def _static_folder(settings: Any, tmp_path: Path) -> None:
    """A folder that exists: the static files themselves are found beside their apps."""
    settings.STATIC_ROOT = tmp_path


@pytest.fixture
def job() -> Site:
    """A job with its first supervisor."""
    return make.site("clinic")


@pytest.fixture
def desk(job: Site) -> Client:
    """The supervisor's browser."""
    return signed_in(make.supervisor(job))
