"""What every test shares: a cache of its own, so that no count of one test throttles another."""

import pytest
from django.core.cache import cache


@pytest.fixture(autouse=True)
def _empty_cache() -> None:
    cache.clear()
