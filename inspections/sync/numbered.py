"""What changed on a site after a number, in the order of the numbers: openings as they stand, their holds, alerts.

An opening has two numbers, of its facts and of its progress; it is told once, at the later of the two. Every scan is a
range of an index on (site, number), so that a small pull costs the same whatever went before it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any
from uuid import UUID

from django.db.models import F, Q, QuerySet

from inspections.models import Alert, CheckIn, Hold, Progress
from inspections.models.checkins import Action, Outcome
from openings.models import Opening, Site
from sitetrack.access.models import Person
from sitetrack.kit.clock import from_ms, rfc3339
from sitetrack.kit.lengths import Length, LengthJson, UnitSystem, length_json

Change = dict[str, Any]
LENGTHS = ("width", "height", "jamb_depth", "covering_thickness")
FACTS = (
    "mark", "size_is", "leaves", "construction", "hand", "rating_text", "rating_minutes", "electrified",
    "hardware_set", "covering", "room_from", "room_to",
)  # fmt: skip
STANDING = ("state", "next_stage", "next_trade", "held")
ASKED = (
    "number", "floor", "walk", "x", "y", "plan", "in_schedule", *LENGTHS, *FACTS,
    *(f"progress__{name}" for name in STANDING),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Span:
    """Numbers of a site after `after`, up to and with `upto`; what is gone matters from `since` on."""

    site: Site
    person: Person
    after: int
    upto: int
    since: int

    def within(self, rows: QuerySet[Any]) -> QuerySet[Any]:
        """Rows of the span in the order of their numbers."""
        return rows.filter(site=self.site, seq__gt=self.after, seq__lte=self.upto).order_by("seq")


@dataclass(frozen=True, slots=True)
class Numbered:
    """One number and the changes that came with it."""

    number: int
    changes: list[Change]


def numbered_changes(span: Span, most: int) -> list[Numbered]:
    """The first changes of the span, at most so many numbers; as many queries for one as for a thousand."""
    if span.after >= span.upto:
        return []
    openings: dict[UUID, int] = {}
    for number, key in [*_by_facts(span, most), *_by_progress(span, most)]:
        openings[key] = max(number, openings.get(key, 0))
    alerts = {alert.seq: alert for alert in _alerts(span, most)}
    # Each scan gave its lowest numbers, so the lowest of all of them together are complete.
    numbers = sorted([*openings.values(), *alerts])[:most]
    told = {number: key for key, number in openings.items() if number <= numbers[-1]} if numbers else {}
    data = _opening_changes(span, told)
    return [Numbered(n, [_alert_change(alerts[n])] if n in alerts else data[told[n]]) for n in numbers]


def _by_facts(span: Span, most: int) -> Iterable[tuple[int, UUID]]:
    rows = span.within(Opening.objects.visible_to(span.person))
    rows = rows.filter(Q(progress=None) | Q(progress__seq__lt=F("seq")) | Q(progress__seq__gt=span.upto))
    return rows.filter(Q(in_schedule=True) | Q(seq__gt=span.since)).values_list("seq", "pk")[:most]


def _by_progress(span: Span, most: int) -> Iterable[tuple[int, UUID]]:
    rows = span.within(Progress.objects.visible_to(span.person))
    rows = rows.filter(Q(opening__seq__lt=F("seq")) | Q(opening__seq__gt=span.upto))
    return rows.filter(Q(opening__in_schedule=True) | Q(seq__gt=span.since)).values_list("seq", "pk")[:most]


def _alerts(span: Span, most: int) -> QuerySet[Alert]:
    rows = span.within(Alert.objects.visible_to(span.person))
    return rows.filter(Q(closed_at=None) | Q(seq__gt=span.since))[:most]


def _opening_changes(span: Span, told: dict[int, UUID]) -> dict[UUID, list[Change]]:
    """For each opening itself and its holds."""
    units = span.site.unit_system
    rows = Opening.objects.filter(pk__in=told.values()).select_related("progress").only(*ASKED).order_by()
    changes = {row.pk: [_opening_change(row, units)] for row in rows}
    held = Hold.objects.visible_to(span.person).filter(opening__in=changes, released_at=None)
    known = {hold.pk: _hold_change(hold) for hold in held}
    for key, hold_id in _ever_holds([key for number, key in told.items() if number > span.since]):
        if hold_id not in known:
            changes[key].append({"type": "hold", "id": str(hold_id), "data": None})
    for change in known.values():
        changes[UUID(change["data"]["opening"])].append(change)
    return changes


def _ever_holds(openings: Sequence[UUID]) -> Iterable[tuple[UUID, UUID]]:
    """Opening and key of every hold that there may ever have been: a reported one or that of a failed check."""
    if not openings:
        return []
    rows = CheckIn.objects.filter(opening__in=openings).filter(Q(action=Action.HOLD) | Q(verdict=Outcome.FAIL))
    return rows.order_by("id").values_list("opening", "id")


def _opening_change(opening: Opening, units: UnitSystem) -> Change:
    data = _opening_data(opening, units) if opening.in_schedule else None
    return {"type": "opening", "id": str(opening.pk), "data": data}


def _opening_data(opening: Opening, units: UnitSystem) -> dict[str, Any]:
    progress: Progress | None = getattr(opening, "progress", None)
    return {
        "number": opening.number,
        "floor": str(opening.floor_id),
        "walk": opening.walk,
        "x": opening.x,
        "y": opening.y,
        "plan": str(opening.plan_id),
        "in_schedule": opening.in_schedule,
        "attributes": _attributes(opening, units),
        "standing": {code: _standing(s) for code, s in progress.state.get("stages", {}).items()} if progress else {},
        "next_stage": progress.next_stage if progress else "",
        "next_trade": progress.next_trade if progress else "",
        "held": progress.held if progress else False,
    }


def _attributes(opening: Opening, units: UnitSystem) -> dict[str, Any]:
    """What the schedule tells; what it does not tell is left out, since unknown is not none."""
    lengths: dict[str, Length | None] = {name: getattr(opening, name) for name in LENGTHS}
    lengths_told: dict[str, Any] = {n: _length(length, units) for n, length in lengths.items() if length is not None}
    facts = {name: getattr(opening, name) for name in FACTS}
    return lengths_told | {name: value for name, value in facts.items() if value not in ("", None)}


@lru_cache(maxsize=1024)
def _length(length: Length, units: UnitSystem) -> LengthJson:
    # A site has thousands of openings of a dozen sizes.
    return length_json(length, units=units)


def _standing(stage: dict[str, Any]) -> dict[str, Any]:
    since = stage["since"]
    return {
        "state": stage["state"],
        "actionable": stage["actionable"],
        "awaits_signature": stage["awaits_signature"],
        "since": None if since is None else rfc3339(from_ms(since)),
        "reading": stage["reading"],
    }


def _hold_change(hold: Hold) -> Change:
    data = {
        "opening": str(hold.opening_id),
        "stage": hold.stage,
        "reason": hold.reason,
        "reasons": hold.reasons,
        "opened_at": rfc3339(hold.opened_at),
        "from_check": hold.from_check,
        "released_at": None,
    }
    return {"type": "hold", "id": str(hold.pk), "data": data}


def _alert_change(alert: Alert) -> Change:
    """An open alert; one that was closed is gone from the phone."""
    if alert.closed_at is not None:
        return {"type": "alert", "id": str(alert.pk), "data": None}
    data = {
        "opening": str(alert.opening_id) if alert.opening_id else None,
        "rule": alert.rule,
        "severity": alert.severity,
        "happened_at": rfc3339(alert.happened_at),
        "acknowledged_at": rfc3339(alert.acknowledged_at) if alert.acknowledged_at else None,
        "closed_at": None,
    }
    return {"type": "alert", "id": str(alert.pk), "data": data}
