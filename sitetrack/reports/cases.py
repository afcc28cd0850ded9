"""Openings as they stood at a cut-off and at the one before, gathered a chunk at a time in a fixed number of queries.

The check-ins are the truth and they carry the moment of receipt, so both standings are folded from what had been
received by then and come out the same whenever they are asked for. Two things are not kept by date and are taken as
they are now: what an opening is (its floor, plan, hardware), and names.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from inspections.models import Alert, FrameCheck, KeptAside
from inspections.selectors.alerts import AlertLine, lines_of
from inspections.selectors.facts import facts_of
from openings.models import Opening, ScheduleChange, Site
from openings.selectors.plans import attributes_of, prepared_plan
from openings.sequence.facts import Fact
from openings.sequence.fold import fold
from openings.sequence.plan import Plan
from openings.sequence.state import OpeningState
from sitetrack.kit.clock import to_ms
from sitetrack.reports.week import Period

INSTANT = timedelta(microseconds=1)  # the finest the database keeps
Kind = ScheduleChange.Kind
Listing = tuple[datetime, str]


@dataclass(frozen=True, slots=True)
class ReadCheck:
    """A check received in this period or the one before, with what was judged of it."""

    id: str
    stage: str
    verdict: str
    judged: dict[str, Any]
    readings: dict[str, Any]
    company: str
    person: str
    read_at: datetime
    received_at: datetime


@dataclass(frozen=True, slots=True)
class OpeningCase:
    """One opening: `now` at the end of the period, `before` at its start; `listed` in the schedule then, or not.

    `facts` are those received before the end, by time. `alerts` are those open at either moment or between.
    """

    opening: Opening
    plan: Plan
    now: OpeningState
    before: OpeningState
    listed: bool
    listed_before: bool
    facts: Sequence[Fact]
    checks: Sequence[ReadCheck]
    alerts: Sequence[AlertLine]


def opening_ids(site: Site) -> list[UUID]:
    """Every opening of a site in walking order. One query."""
    openings = Opening.objects.filter(site=site)
    order = ("floor__building__code", "floor__level", "floor__code", "walk", "number", "pk")
    return list(openings.order_by(*order).values_list("pk", flat=True))


def cases_of(ids: Sequence[UUID], period: Period) -> list[OpeningCase]:
    """The openings of these keys, in this order. Six queries however many."""
    openings = Opening.objects.select_related("floor__building", "wall").in_bulk(ids)
    facts = facts_of(ids, received_by=period.end - INSTANT)
    listings = _listings(ids)
    checks = _checks(ids, period)
    alerts = defaultdict(list)
    for line, key in _alert_lines(Alert.objects.filter(opening__in=ids), period):
        alerts[key].append(line)
    return [
        case_of(
            openings[pk],
            prepared_plan(openings[pk].plan_id),
            facts.get(pk, ()),
            period,
            listings=listings.get(pk, ()),
            checks=checks.get(pk, ()),
            alerts=alerts.get(pk, ()),
        )
        for pk in ids
    ]


def case_of(
    opening: Opening,
    plan: Plan,
    facts: Iterable[Fact],
    period: Period,
    *,
    listings: Sequence[Listing] = (),
    checks: Sequence[ReadCheck] = (),
    alerts: Sequence[AlertLine] = (),
) -> OpeningCase:
    """One opening folded at the end and at the start of the period. No query."""
    attributes = attributes_of(opening, opening.wall.kind if opening.wall else "")
    start, end = to_ms(period.start), to_ms(period.end)
    received = sorted((fact for fact in facts if fact.received < end), key=lambda fact: (fact.corrected, fact.id))
    earlier = [fact for fact in received if fact.received < start]
    now = fold(plan, attributes, received)
    return OpeningCase(
        opening=opening,
        plan=plan,
        now=now,
        before=now if len(earlier) == len(received) else fold(plan, attributes, earlier),
        listed=listed_at(period.end, listings, today=opening.in_schedule),
        listed_before=listed_at(period.start, listings, today=opening.in_schedule),
        facts=received,
        checks=checks,
        alerts=alerts,
    )


def site_alerts(site: Site, period: Period) -> list[AlertLine]:
    """The site's own alerts, of no opening, open at either moment or between. Two queries."""
    return [line for line, _ in _alert_lines(Alert.objects.filter(site=site, opening=None), period)]


def aside_at(site: Site, moment: datetime) -> int:
    """How many check-ins were kept aside and not yet placed at a moment. One query."""
    waiting = Q(settled_at=None) | Q(settled_at__gte=moment)
    return KeptAside.objects.filter(waiting, site=site, received_at__lt=moment).count()


def listed_at(moment: datetime, changes: Sequence[Listing], *, today: bool) -> bool:
    """Whether the schedule listed an opening at a moment, from its (time, kind) comings and goings in order.

    What happened next tells where nothing had happened yet: before it was added it was not there.
    """
    before = [kind for at, kind in changes if at < moment]
    if before:
        return before[-1] != Kind.MISSING
    return changes[0][1] == Kind.MISSING if changes else today


def _listings(ids: Sequence[UUID]) -> dict[UUID, list[Listing]]:
    rows = ScheduleChange.objects.filter(opening__in=ids).exclude(kind=Kind.CHANGED).order_by("at", "id")
    found: dict[UUID, list[Listing]] = {}
    for opening, at, kind in rows.values_list("opening_id", "at", "kind"):
        found.setdefault(opening, []).append((at, kind))
    return found


def _checks(ids: Sequence[UUID], period: Period) -> dict[UUID, list[ReadCheck]]:
    rows = FrameCheck.objects.filter(
        opening__in=ids, check_in__received_at__gte=period.earlier, check_in__received_at__lt=period.end
    ).order_by("read_at", "check_in")
    found: dict[UUID, list[ReadCheck]] = {}
    for opening, id_, stage, verdict, judged, readings, company, person, read_at, received_at in rows.values_list(
        "opening_id", "check_in_id", "stage", "verdict", "judged", "check_in__readings", "company_id",
        "check_in__person_id", "read_at", "check_in__received_at",
    ):  # fmt: skip
        check = ReadCheck(str(id_), stage, verdict, judged, readings, str(company), str(person), read_at, received_at)
        found.setdefault(opening, []).append(check)
    return found


def _alert_lines(alerts: QuerySet[Alert], period: Period) -> list[tuple[AlertLine, UUID | None]]:
    """Alert lines with the key of their opening."""
    of_period = alerts.filter(Q(closed_at=None) | Q(closed_at__gte=period.start), opened_at__lt=period.end).order_by(
        "happened_at", "pk"
    )
    openings = dict(of_period.values_list("pk", "opening_id"))
    return [(line, openings[line.id]) for line in lines_of(of_period) if line.id in openings]
