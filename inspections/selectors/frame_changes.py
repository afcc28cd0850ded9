"""When a revision or a person made an opening's frame another one: what was read before was read of the other frame."""

from collections.abc import Collection
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Max

from openings.models import ScheduleChange

# A change to these makes the frame that stands the wrong one; others leave it the right one, whatever hangs in it.
FRAME_IS_MADE_BY = frozenset(
    {"width", "height", "leaves", "construction", "hand", "jamb_depth", "wall", "rating_minutes"}
)


def frames_changed_at(openings: Collection[Any]) -> dict[UUID, datetime]:
    """When it last happened, for the openings at which it did. One query."""
    changes = ScheduleChange.objects.filter(
        opening__in=openings, kind=ScheduleChange.Kind.CHANGED, field__in=FRAME_IS_MADE_BY
    )
    return dict(changes.values_list("opening").annotate(last=Max("at")).order_by())
