"""One opening whole: its ladder of stages, its record, its schedule, what stops it and what went wrong."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q

from inspections.models import Alert, CheckIn, Hold, Progress, ToleranceProfile
from inspections.models.checkins import Action
from inspections.selectors.alerts import AlertLine, lines_of
from inspections.selectors.stages import StageWords, stages_in
from openings.models import Opening, ScheduleChange, Site
from sitetrack.access.models import Person
from sitetrack.kit.clock import from_ms

MOST_CHECK_INS = 400
MOST_CHANGES = 100
MOST_ALERTS = 50
MOST_HOLDS = 50
LATE_MS = 12 * 3600 * 1000  # told apart as late: it reached us half a day or more after it happened


@dataclass(frozen=True, slots=True)
class RecordLine:
    """One check-in as it is told in the record.

    `taken_back_by` names the check-in that took it back. `conflict` is the fold's code for one that counts for
    nothing. `judged` is what the server made of a reading; `late` says that it arrived half a day or more afterwards.
    """

    id: UUID
    stage: str
    action: str
    person_id: UUID
    person: str
    company: str
    role: str
    device: str
    happened_at: datetime
    received_at: datetime
    uncertainty_ms: int
    about: UUID | None
    readings: Mapping[str, str]
    answers: Mapping[str, bool]
    note: str
    photos: int
    verdict: str
    judged: Mapping[str, Any]
    clock_flag: str
    late: bool
    taken_back_by: str
    conflict: str

    @property
    def can_be_taken_back(self) -> bool:
        """Whether it still stands and is not itself a taking back."""
        return not self.taken_back_by and self.action != Action.VOID


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
class HoldOfOpening:
    """A hold of this opening, open or released; `from_check`: reading the failed check again is its release."""

    id: UUID
    stage: str
    reason: str
    opened_at: datetime
    opened_by: str
    company: str
    released_at: datetime | None
    released_by: str
    released_why: str
    from_check: bool


@dataclass(frozen=True, slots=True)
class ScheduleFact:
    """One field of the opening changed by a revision or by hand."""

    at: datetime
    by: str
    revision: str
    kind: str
    field: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class OpeningSheet:
    """Everything the opening's sheet shows. `record` is latest first; `more_record` counts what its bound left out."""

    opening: Opening
    stages: Mapping[str, StageWords]
    ladder: tuple[Rung, ...]
    states: Mapping[str, str]
    record: tuple[RecordLine, ...]
    more_record: int
    holds: tuple[HoldOfOpening, ...]
    alerts: tuple[AlertLine, ...]
    changes: tuple[ScheduleFact, ...]
    earned: int
    total: int
    worked_out: bool
    next_stage: str
    next_trade: str
    other_trades: tuple[str, ...]
    before: str
    after: str
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
    """Gather the sheet of an opening found by `find_opening`. Nine queries at most, one more for a crew."""
    progress: Progress | None = getattr(opening, "progress", None)
    state: Mapping[str, Any] = progress.state if progress else {}
    stages = stages_in(opening.plan.stages)
    record, more = _record(opening, person, state)
    before, after = _neighbours(opening, person)
    by_id = {str(line.id): line for line in record}
    standings = state.get("stages", {})
    return OpeningSheet(
        opening=opening,
        stages=stages,
        ladder=tuple(_rung(words, standings.get(code, {}), by_id) for code, words in stages.items()),
        states={code: standing["state"] for code, standing in standings.items()},
        record=record,
        more_record=more,
        holds=_holds(opening, person),
        alerts=_alerts(opening, person),
        changes=_changes(opening, person),
        earned=progress.earned if progress else 0,
        total=progress.total if progress else 0,
        worked_out=progress is not None,
        next_stage=progress.next_stage if progress else "",
        next_trade=progress.next_trade if progress else "",
        other_trades=tuple(state.get("other_trades", ())),
        before=before,
        after=after,
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


def _record(opening: Opening, person: Person, state: Mapping[str, Any]) -> tuple[tuple[RecordLine, ...], int]:
    check_ins = CheckIn.objects.visible_to(person).filter(opening=opening)
    rows = list(
        check_ins.select_related("person", "company", "device", "frame_check").order_by("-corrected_at", "-id")[
            : MOST_CHECK_INS + 1
        ]
    )
    more = 0
    if len(rows) > MOST_CHECK_INS:
        rows.pop()
        more = check_ins.count() - MOST_CHECK_INS
    taken_back = state.get("taken_back", {})
    conflicts = {conflict["fact"]: conflict["code"] for conflict in state.get("conflicts", ())}
    return tuple(_line(row, taken_back, conflicts) for row in rows), more


def _line(row: CheckIn, taken_back: Mapping[str, str], conflicts: Mapping[str, str]) -> RecordLine:
    frame_check = getattr(row, "frame_check", None)
    return RecordLine(
        id=row.pk,
        stage=row.stage,
        action=row.action,
        person_id=row.person_id,
        person=str(row.person),
        company=str(row.company),
        role=row.role,
        device=str(row.device) if row.device else "",
        happened_at=row.corrected_at,
        received_at=row.received_at,
        uncertainty_ms=row.uncertainty_ms,
        about=row.about,
        readings=row.readings,
        answers=row.answers,
        note=row.note,
        photos=len(row.photos),
        verdict=row.verdict,
        judged=frame_check.judged if frame_check else {},
        clock_flag=row.clock_flag,
        late=(row.received_at - row.corrected_at).total_seconds() * 1000 >= LATE_MS,
        taken_back_by=taken_back.get(str(row.pk), ""),
        conflict=conflicts.get(str(row.pk), ""),
    )


def _holds(opening: Opening, person: Person) -> tuple[HoldOfOpening, ...]:
    holds = Hold.objects.visible_to(person).filter(opening=opening)
    return tuple(
        HoldOfOpening(
            id=hold.pk,
            stage=hold.stage,
            reason=hold.reason,
            opened_at=hold.opened_at,
            opened_by=str(hold.opened_by),
            company=str(hold.company),
            released_at=hold.released_at,
            released_by=str(hold.released_by or ""),
            released_why=hold.released_why,
            from_check=hold.from_check,
        )
        for hold in holds.select_related("opened_by", "company", "released_by").order_by("-opened_at")[:MOST_HOLDS]
    )


def _alerts(opening: Opening, person: Person) -> tuple[AlertLine, ...]:
    alerts = Alert.objects.visible_to(person).filter(opening=opening)
    return lines_of(alerts.order_by("-happened_at")[:MOST_ALERTS])


def _changes(opening: Opening, person: Person) -> tuple[ScheduleFact, ...]:
    changes = ScheduleChange.objects.visible_to(person).filter(opening=opening).select_related("by", "revision")
    return tuple(
        ScheduleFact(
            at=change.at,
            by=str(change.by),
            revision=str(change.revision) if change.revision else "",
            kind=change.kind,
            field=change.field,
            before=change.before,
            after=change.after,
        )
        for change in changes.order_by("-id")[:MOST_CHANGES]
    )


def _neighbours(opening: Opening, person: Person) -> tuple[str, str]:
    """Numbers of the openings before and after in the walk through the floor; empty at its ends."""
    floor = Opening.objects.visible_to(person).filter(floor=opening.floor_id, in_schedule=True).exclude(pk=opening.pk)
    here = Q(walk=opening.walk)
    before = floor.filter(Q(walk__lt=opening.walk) | here & Q(number__lt=opening.number)).order_by("-walk", "-number")
    after = floor.filter(Q(walk__gt=opening.walk) | here & Q(number__gt=opening.number)).order_by("walk", "number")
    return (
        before.values_list("number", flat=True).first() or "",
        after.values_list("number", flat=True).first() or "",
    )
