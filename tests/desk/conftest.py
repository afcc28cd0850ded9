"""What the desk's tests share."""

from pathlib import Path
from typing import Any

import pytest


@pytest.fixture(autouse=True)
def _static_folder(settings: Any, tmp_path: Path) -> None:
    """A folder that exists: the static files themselves are found beside their apps."""
    settings.STATIC_ROOT = tmp_path
