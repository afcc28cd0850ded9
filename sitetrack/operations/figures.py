"""The figures operations watch: what the processes counted, and what the data base says is owed at this moment."""

import os
from collections.abc import Iterator
from datetime import datetime

from django.db import DatabaseError
from prometheus_client import CONTENT_TYPE_LATEST, REGISTRY, CollectorRegistry, generate_latest
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.registry import Collector

from inspections.selectors.owed import owed

CONTENT_TYPE = CONTENT_TYPE_LATEST


class OwedFigures(Collector):
    """Read from the data base when asked, so that any process gives the same answer."""

    def __init__(self, now: datetime) -> None:
        self.now = now

    def collect(self) -> Iterator[GaugeMetricFamily]:
        """How much waits, and how long the oldest has; a data base that is away is itself a figure."""
        waiting = GaugeMetricFamily("sitetrack_owed", "What waits to be done, by kind.", labels=["kind"])
        oldest = GaugeMetricFamily("sitetrack_owed_oldest_seconds", "How long the oldest has waited.", labels=["kind"])
        answers = GaugeMetricFamily("sitetrack_database_answers", "1 while the data base answers.")
        try:
            found = owed(self.now)
        except DatabaseError:
            answers.add_metric([], 0)
            yield answers
            return
        answers.add_metric([], 1)
        for kind in found:
            waiting.add_metric([kind.kind], kind.waiting)
            oldest.add_metric([kind.kind], kind.oldest_s)
        yield from (answers, waiting, oldest)


def figures_text(now: datetime) -> bytes:
    """All figures in the text format of the OpenMetrics family that the library writes."""
    counted = REGISTRY
    if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
        counted = CollectorRegistry()
        MultiProcessCollector(counted)
    present = CollectorRegistry()
    present.register(OwedFigures(now))
    return generate_latest(counted) + generate_latest(present)
