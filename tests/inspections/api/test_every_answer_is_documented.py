"""Whatever is asked of the API: never a fault of ours, never an answer the document doesn't tell (schemathesis)."""

import pytest
import schemathesis
from drf_spectacular.generators import SchemaGenerator
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from sitetrack.wsgi import application
from tests import builders as b

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("connection_stays")]
CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]
DOCUMENT = schemathesis.openapi.from_dict(SchemaGenerator().get_schema(request=None, public=True))
OPERATIONS = {operation.ok().label: operation.ok() for operation in DOCUMENT.get_all_operations()}
DOCUMENT.app = application


@pytest.fixture
def token(db):
    """A supervisor's token on a site with something of everything a builder makes."""
    site = b.site()
    opening = b.opening(site)
    b.work_up_to(opening, "board")
    b.alert(opening)
    return b.device(site, b.supervisor(site), kind="program")[1]


@pytest.mark.parametrize("label", OPERATIONS)
def test_every_answer_is_documented(label, token):
    @settings(
        max_examples=12,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.explicit, Phase.generate],
        derandomize=True,
        database=None,
    )
    @given(case=OPERATIONS[label].as_strategy())
    def ask(case):
        answer = case.call(app=application, headers={"Authorization": f"Bearer {token}", "Accept-Encoding": "identity"})
        case.validate_response(answer, checks=CHECKS)

    ask()
