"""What the tests of the API share."""

from collections.abc import Iterator

import pytest
from django.core.signals import request_finished, request_started
from django.db import close_old_connections


@pytest.fixture
def connection_stays(db: None) -> Iterator[None]:
    """As Django's own test client does: the end of a request must not close the connection that the test is in."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)
