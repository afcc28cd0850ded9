"""Stored check-ins as the facts that the fold reads."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from inspections.models import CheckIn
from openings.sequence.facts import Fact
from sitetrack.kit.clock import to_ms

_COLUMNS = (
    "opening_id", "id", "stage", "action", "corrected_at", "received_at", "uncertainty_ms", "device_id", "counter",
    "about", "verdict", "role", "company_id", "person_id", "note", "waives",
    "needs_another",
)  # fmt: skip


def facts_of(opening_ids: Iterable[Any], *, received_by: datetime | None = None) -> dict[UUID, list[Fact]]:
    """Facts of each opening, in no order; only those received by a moment, where one is given. One query."""
    rows = CheckIn.objects.filter(opening__in=list(opening_ids)).order_by()
    if received_by is not None:
        rows = rows.filter(received_at__lte=received_by)
    facts: dict[UUID, list[Fact]] = {}
    for opening, *row in rows.values_list(*_COLUMNS):
        facts.setdefault(opening, []).append(_fact(row))
    return facts


def _fact(row: list[Any]) -> Fact:
    (id_, stage, action, corrected, received, uncertainty, device, counter, about, verdict, role, company, person, note,
     waives, needs_another) = row  # fmt: skip
    return Fact(
        id=str(id_),
        stage=stage,
        action=action,
        corrected=to_ms(corrected),
        received=to_ms(received),
        uncertainty=uncertainty,
        device=str(device or ""),
        counter=counter,
        about=str(about) if about else None,
        verdict=verdict or None,
        role=role,
        company=str(company),
        person=str(person),
        note=note,
        waives=waives,
        needs_another=needs_another,
    )
