"""The calculations over the API; what they come to is tested where they are made."""

from typing import Any

import jsonschema
import pytest

from inspections.api.calculation_shapes import CALCULATIONS, Calculation
from tests import builders as b
from tests.published_shapes import check_problem

pytestmark = pytest.mark.django_db


@pytest.fixture
def api() -> b.APIClient:
    return b.client(b.viewer(b.site()))


@pytest.mark.parametrize("calculation", CALCULATIONS, ids=lambda c: c.name)
def test_each_calculation_takes_its_example_and_answers_in_the_described_shape(
    api: b.APIClient, calculation: Calculation
) -> None:
    jsonschema.validate(calculation.example, calculation.asks)
    answer = api.post(f"/api/v1/calculations/{calculation.name}", calculation.example)
    assert answer.status_code == 200, answer.content
    jsonschema.validate(answer.json(), calculation.gives)


@pytest.mark.parametrize("calculation", CALCULATIONS, ids=lambda c: c.name)
@pytest.mark.parametrize("body", [None, [], "x", 5, {}, {"readings": 5, "opening": 5, "stud": 5, "covering": []}])
def test_a_request_that_is_none_is_refused_and_names_its_field(
    api: b.APIClient, calculation: Calculation, body: Any
) -> None:
    refused = check_problem(api.post(f"/api/v1/calculations/{calculation.name}", body), 422, "bad-input")
    assert refused["errors"][0]["field"]
    assert refused["errors"][0]["expected"]


@pytest.mark.parametrize("calculation", CALCULATIONS, ids=lambda c: c.name)
def test_a_stranger_calculates_nothing(calculation: Calculation) -> None:
    check_problem(b.client().post(f"/api/v1/calculations/{calculation.name}", calculation.example), 401)


def test_a_throat_that_just_takes_its_wall(api: b.APIClient) -> None:
    """3 5/8 stud with 5/8 board on each side is 4 7/8; a 5 3/4 jamb with 1/2 returns has a throat of 4 3/4."""
    asked = {"stud": "3 5/8", "boards_pull": ["5/8"], "boards_push": ["5/8"], "jamb_depth": "5 3/4", "return": "1/2"}
    answer = api.post("/api/v1/calculations/wall", asked).json()
    assert answer["wall_thickness"]["in"] == 4.875
    assert answer["throat"]["in"] == 4.75
    assert answer["slack"]["in"] == -0.125
