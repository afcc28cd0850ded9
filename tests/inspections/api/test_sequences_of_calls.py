"""Calls one after another, each with what the last one answered: what exists is found, changed and found again.

The links between operations are worked out from the document by schemathesis; nothing of them is written here.
"""

from typing import Any

import pytest
import schemathesis
from django.db import transaction
from drf_spectacular.generators import SchemaGenerator
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
    use_after_free,
)

from openings.models import Site
from sitetrack.wsgi import application
from tests import builders as b

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("connection_stays")]
CHECKS = [
    not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance, use_after_free,
]  # fmt: skip
# Where one call leads to another: rows that are found in a list, looked at and acted on.
LINKED = r"/(alerts|devices|mutes|openings|profiles|webhooks|webhook-messages)(/|$)"
DOCUMENT = schemathesis.openapi.from_dict(SchemaGenerator().get_schema(request=None, public=True)).include(
    path_regex=LINKED
)
DOCUMENT.app = application
SEQUENCES, CALLS = 40, 15


@pytest.fixture
def site() -> Site:
    """A site with something of everything a builder makes."""
    site = b.site()
    opening = b.opening(site)
    b.work_up_to(opening, "board")
    b.alert(opening)
    b.muted(opening)
    b.webhook(site)
    return site


def test_no_sequence_of_calls_leads_to_a_fault(site: Site) -> None:
    went_well: set[str] = set()

    class Program(DOCUMENT.as_state_machine()):  # type: ignore[misc]
        """A program with a supervisor's token; what one sequence did, the next does not find."""

        def setup(self) -> None:
            self.undone = transaction.atomic()
            self.undone.__enter__()
            self.token = b.device(site, b.supervisor(site), kind="program")[1]

        def teardown(self) -> None:
            transaction.set_rollback(True)
            self.undone.__exit__(None, None, None)

        def get_call_kwargs(self, case: Any) -> dict[str, Any]:
            return {"headers": {"Authorization": f"Bearer {self.token}", "Accept-Encoding": "identity"}}

        def validate_response(self, response: Any, case: Any, **given: Any) -> None:
            case.validate_response(response, checks=CHECKS)

        def after_call(self, response: Any, case: Any) -> None:
            if response.status_code < 300:
                went_well.add(case.operation.label)

    run_state_machine_as_test(
        Program,
        settings=settings(
            max_examples=SEQUENCES, stateful_step_count=CALLS, deadline=None, derandomize=True, database=None,
            suppress_health_check=list(HealthCheck), phases=[Phase.generate],
        ),
    )  # fmt: skip
    # A key cannot be guessed: whatever went well with one in its address had it from an answer before.
    led_to = {label for label in went_well if "{id}" in label}
    assert len(led_to) >= 4, went_well
    assert any(label.startswith("POST") for label in led_to), went_well
