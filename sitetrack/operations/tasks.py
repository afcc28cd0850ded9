"""Jobs of operations."""

import logging

from sitetrack.celery import app
from sitetrack.kit.clock import now
from sitetrack.operations.retention import tidy

log = logging.getLogger(__name__)


@app.task
def tidy_up() -> None:
    """Remove what is kept for a time only. Twice is harmless: what is gone is not found again."""
    removed = {kind: count for kind, count in tidy(now=now()).items() if count}
    if removed:
        log.info("tidied up", extra={"removed": removed})
