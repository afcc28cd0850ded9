"""Handing work to the workers, or doing it here when there are none."""

import logging
from typing import Any

from celery import Task
from kombu.exceptions import OperationalError

log = logging.getLogger(__name__)


def enqueue(task: Task, *args: Any) -> None:
    """Hand `task` over after its cause has been committed.

    A broker that cannot be reached is logged and not raised: the cause is safely stored and marked as owed, and the
    sweep does the work as soon as there is a worker again.
    """
    try:
        task.apply_async(args=args, retry=False)
    except (OperationalError, ConnectionError, TimeoutError) as error:
        log.warning("job %s left to the sweep: broker not reached (%s)", task.name, type(error).__name__)
