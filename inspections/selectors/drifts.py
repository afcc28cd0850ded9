"""Frames that were read before their wall was closed and again after it, and who closed it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from inspections.models import CheckIn, FrameCheck
from inspections.models.checkins import Action
from inspections.selectors.nominal import nominal_opening
from inspections.trueness.drift import BeforeAfter
from inspections.trueness.errors import ReadingError
from inspections.trueness.readings import Readings, read_readings
from openings.models import Opening, Site
from openings.selectors.plans import prepared_plan
from openings.sequence.plan import Plan
from openings.sequence.stage import Kind
from sitetrack.access.models import Person

# Plenty for an interval, and about a second of work.
MOST_PAIRS = 800


@dataclass(frozen=True, slots=True)
class ClosingStages:
    """The stages of a plan that tell of drift: the last check before the wall closes, what closes it, the one after."""

    before: str
    closing: frozenset[str]
    after: str


@dataclass(frozen=True, slots=True)
class ClosedFrame:
    """A frame read before and after its wall was closed; `pair.crew` names the person who closed it."""

    pair: BeforeAfter
    company: str


@dataclass(frozen=True, slots=True)
class ClosedFrames:
    """The frames, the latest read first, and whether earlier ones were cut off."""

    frames: list[ClosedFrame]
    cut_off: bool


@dataclass(frozen=True, slots=True)
class _Read:
    at: datetime
    readings: Readings


def closing_stages(plan: Plan) -> ClosingStages | None:
    """Find them in a plan by what they are and not by their codes; None where it has no check on both sides."""
    closing = frozenset(stage.code for stage in plan.stages if stage.closes_wall)
    checks = [stage for stage in plan.stages if stage.kind is Kind.CHECK and stage.required_readings]
    after = next((check for check in checks if closing & set(check.covers)), None)
    if after is None:
        return None
    before = [check for check in checks[: checks.index(after)] if not closing & set(check.covers)]
    return ClosingStages(before[-1].code, closing & set(after.covers), after.code) if before else None


def closed_frames(site: Site, person: Person) -> ClosedFrames:
    """Pair each opening's last reading before its wall was first closed with the first one after it. Six queries.

    What was taken back does not count; a frame whose size the schedule does not tell has nothing to be judged by.
    """
    taken_back = CheckIn.objects.filter(site=site, action=Action.VOID).values("about")
    plans = Opening.objects.filter(site=site).order_by().values_list("plan_id", flat=True).distinct()
    stages = {plan: found for plan in plans if (found := closing_stages(prepared_plan(plan)))}
    latest = _checks(site, person, {each.after for each in stages.values()}, taken_back).order_by("-read_at")
    after = _by_opening(latest[:MOST_PAIRS])
    openings = {o.pk: o for o in Opening.objects.filter(pk__in=after).select_related("wall")}
    before = _by_opening(
        _checks(site, person, {each.before for each in stages.values()}, taken_back).filter(opening__in=after)
    )
    closings = _closings(site, person, stages.values(), after, taken_back)
    frames = []
    for pk, later in after.items():
        closed = closings.get(pk)
        nominal = nominal_opening(openings[pk])
        if closed is None or nominal is None or not nominal.door_sized:
            continue
        pair = _pair(before.get(pk, []), later, closed[0])
        if pair:
            wall = openings[pk].wall
            told = BeforeAfter(openings[pk].number, closed[1], wall.kind if wall else "", nominal, *pair)
            frames.append(ClosedFrame(told, closed[2]))
    return ClosedFrames(frames, cut_off=latest[MOST_PAIRS : MOST_PAIRS + 1].exists())


def _checks(site: Site, person: Person, stages: set[str], taken_back: Any) -> Any:
    checks = FrameCheck.objects.visible_to(person).filter(site=site, stage__in=stages)
    return checks.exclude(check_in__in=taken_back).exclude(check_in__readings={})


def _by_opening(checks: Any) -> dict[UUID, list[_Read]]:
    """What was read at each opening, in order of time, in the units of its day."""
    read: dict[UUID, list[_Read]] = {}
    for opening, at, units, texts in checks.values_list(
        "opening_id", "read_at", "profile__data__units", "check_in__readings"
    ):
        try:
            read.setdefault(opening, []).append(_Read(at, read_readings(texts, units=units)))
        except ReadingError:
            continue  # taken in under other rules; it can't be set beside another
    return {opening: sorted(own, key=lambda each: each.at) for opening, own in read.items()}


def _closings(
    site: Site, person: Person, stages: Iterable[ClosingStages], openings: Iterable[UUID], taken_back: Any
) -> Mapping[UUID, tuple[datetime, str, str]]:
    """When each wall was first closed, and by whom: (moment, person, company)."""
    codes = {code for each in stages for code in each.closing}
    reported = CheckIn.objects.visible_to(person).filter(
        site=site, stage__in=codes, action=Action.FINISH, opening__in=list(openings)
    )
    rows = reported.exclude(pk__in=taken_back).order_by("-corrected_at")
    return {
        opening: (at, name, company)
        for opening, at, name, company in rows.values_list(
            "opening_id", "corrected_at", "person__name", "company__name"
        )
    }


def _pair(before: list[_Read], after: list[_Read], closed_at: datetime) -> tuple[Readings, Readings] | None:
    earlier = [each for each in before if each.at <= closed_at]
    later = [each for each in after if each.at >= closed_at]
    return (earlier[-1].readings, later[0].readings) if earlier and later else None
