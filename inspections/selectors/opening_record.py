"""One opening whole: its ladder of stages, its record, its schedule, what stops it and what went wrong."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet

from inspections.models import Alert, Progress, ToleranceProfile
from inspections.selectors.alerts import AlertLine, lines_of
from inspections.selectors.opening_history import HoldOfOpening, ScheduleStep, holds_of, schedule_steps
from inspections.selectors.record_lines import AsideLine, RecordLine, aside_lines, record_of
from inspections.selectors.stages import StageWords, stages_in, states_by_mark
from openings.models import Opening, Site
from openings.selectors.plans import prepared_plan
from openings.sequence.stage import Mark, codes_by_mark
from sitetrack.access.models import Person
from sitetrack.kit.clock import from_ms

MOST_ALERTS = 50


@dataclass(frozen=True, slots=True)
class Rung:
    """One stage on the ladder: how it stands, and the check-ins that put it there, where this person may see them."""

    stage: StageWords
    state: str
    actionable: bool
    awaits_signature: bool
    waived: bool
    since: datetime | None
    last: RecordLine | None
    signed: RecordLine | None
    reading: RecordLine | None
    blocked_by: tuple[str, ...]
    outdated_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OpeningSheet:
    """Everything the opening's sheet shows. `record` is latest first; `more_record` counts what its bound left out.

    `states` by the stage's code, `marked` by what stages mean.
    """

    opening: Opening
    stages: Mapping[str, StageWords]
    ladder: tuple[Rung, ...]
    states: Mapping[str, str]
    marked: Mapping[Mark, tuple[str, ...]]
    record: tuple[RecordLine, ...]
    more_record: int
    aside: tuple[AsideLine, ...]
    holds: tuple[HoldOfOpening, ...]
    alerts: tuple[AlertLine, ...]
    changes: tuple[ScheduleStep, ...]
    earned: int
    total: int
    worked_out: bool
    next_stage: str
    next_trade: str
    other_trades: tuple[str, ...]
    profile: Mapping[str, Any] | None

    @property
    def percent(self) -> int:
        """Work done, in whole per cent, rounded down."""
        return self.earned * 100 // self.total if self.total else 0

    @property
    def held(self) -> bool:
        """Whether a hold stops everything here now; one from a failed check leaves that check to be read again."""
        return any(hold.released_at is None and not hold.from_check for hold in self.holds)

    @property
    def open_alerts(self) -> tuple[AlertLine, ...]:
        """Alerts nobody and nothing has closed."""
        return tuple(alert for alert in self.alerts if alert.closed_at is None)


def find_opening(site: Site, person: Person, number: str) -> Opening | None:
    """The opening of that number, in whatever case, with its place, wall and plan. One query."""
    openings = Opening.objects.visible_to(person).filter(site=site, number__iexact=number)
    return openings.select_related("floor__building", "wall", "plan", "progress").first()


def opening_sheet(opening: Opening, person: Person) -> OpeningSheet:
    """Gather the sheet of an opening found by `find_opening`. Ten queries at most, a few more for a crew."""
    progress: Progress | None = getattr(opening, "progress", None)
    state: Mapping[str, Any] = progress.state if progress else {}
    stages = stages_in(opening.plan.stages)
    record, more = record_of(opening, person, state)
    by_id = {str(line.id): line for line in record}
    standings = state.get("stages", {})
    states = {code: standing["state"] for code, standing in standings.items()}
    return OpeningSheet(
        opening=opening,
        stages=stages,
        ladder=tuple(_rung(words, standings.get(code, {}), by_id) for code, words in stages.items()),
        states=states,
        marked=states_by_mark(codes_by_mark(prepared_plan(opening.plan_id).stages), states),
        record=record,
        more_record=more,
        aside=aside_lines(opening, person),
        holds=holds_of(opening, person),
        alerts=_alerts(opening, person),
        changes=schedule_steps(opening, person),
        earned=progress.earned if progress else 0,
        total=progress.total if progress else 0,
        worked_out=progress is not None,
        next_stage=progress.next_stage if progress else "",
        next_trade=progress.next_trade if progress else "",
        other_trades=tuple(state.get("other_trades", ())),
        profile=_profile(opening, person),
    )


def _profile(opening: Opening, person: Person) -> Mapping[str, Any] | None:
    """The site's tolerances as they stand now; None while it goes by the published ones."""
    profiles = ToleranceProfile.objects.visible_to(person).filter(site=opening.site_id)
    latest: Mapping[str, Any] | None = profiles.order_by("-version").values_list("data", flat=True).first()
    return latest


def _rung(words: StageWords, standing: Mapping[str, Any], by_id: Mapping[str, RecordLine]) -> Rung:
    since = standing.get("since")
    return Rung(
        stage=words,
        state=standing.get("state", "waiting"),
        actionable=standing.get("actionable", False),
        awaits_signature=standing.get("awaits_signature", False),
        waived=standing.get("waived", False),
        since=None if since is None else from_ms(since),
        last=by_id.get(standing.get("fact") or ""),
        signed=by_id.get(standing.get("signed_by") or ""),
        reading=by_id.get(standing.get("reading") or ""),
        blocked_by=tuple(standing.get("blocked_by", ())),
        outdated_by=tuple(standing.get("outdated_by", ())),
    )


def _alerts(opening: Opening, person: Person) -> tuple[AlertLine, ...]:
    alerts = Alert.objects.visible_to(person).filter(opening=opening)
    return lines_of(alerts.order_by("-happened_at")[:MOST_ALERTS])


def neighbours(opening: Opening, walked: QuerySet[Any]) -> tuple[str, str]:
    """Numbers of the openings before and after among those `walked`, in walking order; empty at its ends.

    Two queries. The opening itself need not be among them: its own work may have taken it out of what was asked for.
    """
    floor = walked.filter(floor=opening.floor_id).exclude(pk=opening.pk)
    here = Q(walk=opening.walk)
    before = floor.filter(Q(walk__lt=opening.walk) | here & Q(number__lt=opening.number)).order_by("-walk", "-number")
    after = floor.filter(Q(walk__gt=opening.walk) | here & Q(number__gt=opening.number)).order_by("walk", "number")
    return (
        before.values_list("number", flat=True).first() or "",
        after.values_list("number", flat=True).first() or "",
    )
