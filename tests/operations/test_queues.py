"""Reports queue apart from phones' batches, and a worker that is told nothing does both."""

import pytest

from sitetrack.celery import app


@pytest.mark.parametrize(
    ("task", "queue"),
    [
        ("sitetrack.reports.tasks.make_weekly_status", "reports"),
        ("sitetrack.reports.tasks.forecast_site", "reports"),
        ("inspections.tasks.work_out_readiness", "celery"),
        ("inspections.tasks.sweep", "celery"),
    ],
)
def test_a_report_holds_up_no_batch(task: str, queue: str) -> None:
    app.loader.import_default_modules()  # as a worker does when it starts
    assert task in app.tasks
    assert app.amqp.router.route({}, task)["queue"].name == queue


def test_a_worker_that_is_told_nothing_takes_from_both() -> None:
    assert set(app.amqp.queues.consume_from) == {"celery", "reports"}
