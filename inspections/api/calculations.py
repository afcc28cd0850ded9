"""The calculations over the API: nothing is kept of them."""

from typing import Any, cast

from drf_spectacular.utils import OpenApiExample
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.api.calculation_shapes import CALCULATIONS, Calculation
from inspections.trueness.errors import ReadingError
from sitetrack.kit.api import ApiView
from sitetrack.kit.problems import BadInput, FieldError
from sitetrack.kit.schema import ProblemSchema


class CalculationSchema(ProblemSchema):
    """Describes each calculation by its own shapes."""

    @property
    def _calculation(self) -> Calculation:
        return cast("CalculationView", self.view).calculation

    def get_operation_id(self) -> str:
        return "calculate_" + self._calculation.name.replace("-", "_")

    def get_summary(self) -> str:
        return self._calculation.summary

    def get_request_serializer(self) -> Any:
        return {"application/json": self._calculation.asks}

    def get_response_serializers(self) -> Any:
        return {200: self._calculation.gives}

    def get_examples(self) -> list[OpenApiExample]:
        return [OpenApiExample("usual", self._calculation.example, request_only=True)]


class CalculationView(ApiView):
    """One calculation, stateless; the answer names the source of every limit used."""

    calculation: Calculation = CALCULATIONS[0]
    most_body_bytes = 20_000
    schema = CalculationSchema()

    def post(self, request: Request) -> Response:
        """Lengths as written on a job, such as 36 1/16; a length in the answer is text and numbers in both units."""
        try:
            return Response(self.calculation.compute(request.data))
        except ReadingError as error:
            field = FieldError(error.field, error.code, read=error.read, expected=error.expected)
            raise BadInput(str(error), errors=[field]) from error
