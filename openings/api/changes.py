"""Corrections of an opening over the API: their form. What may be stored is the service's to say."""

from typing import Any

from rest_framework import serializers

from openings.models import Opening, Site
from openings.selectors.facts import SIMPLE_FACTS
from sitetrack.kit.fields import LengthField
from sitetrack.kit.problems import BadInput, FieldError
from sitetrack.kit.shapes import LengthInput

FARTHEST = 100_000  # metres along a plan; keeps out what is no number of metres, such as an infinite one


class OpeningChange(serializers.ModelSerializer[Opening]):
    """Facts to correct; the floor and the wall are corrected on the opening's page."""

    x = serializers.FloatField(min_value=-FARTHEST, max_value=FARTHEST, allow_null=True)
    y = serializers.FloatField(min_value=-FARTHEST, max_value=FARTHEST, allow_null=True)

    serializer_field_mapping = {
        **serializers.ModelSerializer.serializer_field_mapping,
        **dict.fromkeys([LengthField], LengthInput),
    }

    class Meta:
        model = Opening
        fields = SIMPLE_FACTS
        validators: list[Any] = []


def read_change(body: Any, site: Site) -> dict[str, Any]:
    """The facts given; raises for what is no fact, since a correction passed over in silence reads as made."""
    unknown = sorted(set(body) - set(SIMPLE_FACTS)) if isinstance(body, dict) else []
    if unknown:
        expected = "one of " + ", ".join(SIMPLE_FACTS)
        raise BadInput(
            f"{unknown[0][:40]}: no fact that can be corrected here; expected {expected}.",
            errors=[FieldError(name[:80], "no fact that can be corrected here", expected=expected) for name in unknown],
        )
    change = OpeningChange(data=body, partial=True, context={"units": site.units})
    change.is_valid(raise_exception=True)
    return dict(change.validated_data)
