"""No question breaks a list: every filter of every resource, asked with what nobody would ask."""

import pytest

from sitetrack.api_urls import RESOURCES
from sitetrack.kit.paging import PARAMETERS
from tests import builders as b
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db

NASTY = [
    "", "\x00", "😀'; --", "9" * 400, "99999999999999999999", "1e400", "NaN", "\ud800", "%s", "9999-W53",
    "0001-01-01T00:00:00+23:59",
]  # fmt: skip


@pytest.mark.parametrize("resource", sorted(RESOURCES))
def test_every_filter_answers_or_refuses_in_words(resource: str) -> None:
    opening = b.opening(b.site())
    api = b.client(b.supervisor(opening.site))
    for name in sorted(set(RESOURCES[resource].filterset_class.base_filters) | PARAMETERS):
        for value in NASTY:
            asked = value.encode("utf-8", "surrogatepass")
            response = api.get(f"/api/v1/{resource}", {name: asked})
            if response.status_code != 200:
                refused = check_problem(response, 422, "bad-input")
                assert refused["errors"][0]["field"] == name
