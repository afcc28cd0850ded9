"""Real models this project did not write; tests that need one skip, saying so, where it is not at hand."""

import os
from pathlib import Path

import pytest
from django.conf import settings

FOLDER = Path(os.environ.get("SITETRACK_SAMPLES", settings.BASE_DIR.parent / "shared" / "data"))


def sample(name: str) -> Path:
    path = FOLDER / name
    if not path.is_file():
        pytest.skip(f"needs the sample model {name}: set SITETRACK_SAMPLES to the folder that has it")
    return path
