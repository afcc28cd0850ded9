"""Log lines that a person reads on a terminal, or a program reads as JSON: one object a line."""

import logging
import time
from typing import Any

from celery import current_task
from pythonjsonlogger.json import JsonFormatter

from sitetrack.operations.request_ids import current_request_id


class NameOfWork(logging.Filter):
    """Adds for which request, or which job, a line was written."""

    def filter(self, record: logging.LogRecord) -> bool:
        job = current_task.request.id if current_task else None
        record.work = current_request_id.get() or job or "-"
        return True


def json_lines() -> JsonFormatter:
    """The formatter of the settings: time in UTC, then who wrote it, for what, and whatever was added to the line."""
    fields: list[str] = ["asctime", "levelname", "name", "work", "message"]
    renamed: dict[str, Any] = {"asctime": "at", "levelname": "level", "name": "from"}
    formatter = JsonFormatter(fields, rename_fields=renamed, datefmt="%Y-%m-%dT%H:%M:%S%z")
    formatter.converter = time.gmtime
    return formatter
