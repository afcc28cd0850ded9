"""The one place that writes projections: where each opening stands, its holds and its alerts, from the fold.

Safe to run any number of times, in any number of workers at once. The progress rows of a chunk are locked, in one
order, before the check-ins are read; so of two workers on one opening the second reads what the first could not see
yet. A check-in stored after the reading has its own dirty mark, which is not ours to remove.
"""

import logging
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Max, Q

from inspections.models import Alert, Hold, Progress, StageStanding
from inspections.rules.table import OPENING_RULES
from inspections.services.alerts import Key, key_of, settle_alerts
from inspections.services.cases import WorkedOut, work_out_cases
from inspections.services.earlier_plans import ended_by_plan
from inspections.services.failed_checks import holds_from_checks
from inspections.services.holding_back import hold_back
from openings.models import DirtyOpening, Opening, Site
from openings.sequence.state import StageState, State
from openings.services.changes import next_numbers
from sitetrack.kit.backoff import wait_after
from sitetrack.kit.bulk import upsert_rows
from sitetrack.kit.clock import from_ms

Told = dict[str, object]  # an opening's state as plain data

log = logging.getLogger(__name__)
CHUNK = 200
STANDING_FIELDS = ["floor", "company", "place", "trade", "state", "actionable", "awaits_signature", "since", "weight"]
STANDING_COLUMNS = ["floor_id", "company_id", *STANDING_FIELDS[2:]]
PROGRESS_FIELDS = [
    "floor", "state", "next_stage", "next_trade", "earned", "total", "held", "last_at", "worked_out_at", "seq",
]  # fmt: skip
HOLD_FIELDS = ["stage", "reason", "reasons", "opened_at", "released_at", "released_by", "released_why"]
HOLD_COMPARED = ["stage", "reason", "reasons", "opened_at", "released_at", "released_by_id", "released_why"]
FOUND_BY_FOLD = [rule.code for rule in OPENING_RULES]


def work_out(*, opening_ids: Iterable[Any], now: datetime) -> int:
    """Work these openings out again and store what changed; returns how many stand differently than before."""
    changed = 0
    by_site: dict[Any, list[Any]] = {}
    for site, pk in Opening.objects.filter(pk__in=set(opening_ids)).order_by("site", "pk").values_list("site", "pk"):
        by_site.setdefault(site, []).append(pk)
    for site in Site.objects.filter(pk__in=by_site):
        for chunk in _chunks(by_site[site.pk]):
            changed += _work_out_what_can_be(site, chunk, now)
    return changed


def _work_out_what_can_be(site: Site, ids: Sequence[Any], now: datetime) -> int:
    """One opening that can't be worked out must not keep the others from it; it stays owed, and is named in the log.

    The sweep tries it again, each time after a longer wait, so that many such do not crowd out what is new; whatever
    new is stored for it has it tried at once.
    """
    try:
        return _work_out_chunk(site, ids, now)
    except Exception:
        if len(ids) == 1:
            log.exception("opening %s of site %s can't be worked out", ids[0], site.code)
            _put_off(ids[0], now)
            return 0
        return sum(_work_out_what_can_be(site, [pk], now) for pk in ids)


def _put_off(opening_id: Any, now: datetime) -> None:
    owed = DirtyOpening.objects.filter(opening=opening_id)
    tries = (owed.aggregate(most=Max("tries"))["most"] or 0) + 1
    owed.update(tries=tries, not_before=now + wait_after(tries))


def sweep(*, now: datetime, limit: int = 2000) -> int:
    """Work out what was marked dirty and never done, oldest first; returns how many openings were looked at."""
    due = DirtyOpening.objects.filter(Q(not_before=None) | Q(not_before__lte=now)).order_by("id")
    owed = list(dict.fromkeys(due.values_list("opening", flat=True)[:limit]))
    work_out(opening_ids=owed, now=now)
    return len(owed)


def _chunks(ids: Sequence[Any]) -> Iterable[Sequence[Any]]:
    return (ids[start : start + CHUNK] for start in range(0, len(ids), CHUNK))


@transaction.atomic
def _work_out_chunk(site: Site, ids: Sequence[Any], now: datetime) -> int:
    before = _lock_progress(site.pk, ids, now)
    owed = list(DirtyOpening.objects.filter(opening__in=ids).values_list("pk", flat=True))
    worked, found = as_it_stands(ids, now)
    told = {w.opening.pk: w.state.to_dict() for w in worked}
    changed = [w for w in worked if _differs(before[w.opening.pk], w, told)]
    if changed:
        _write_progress(site.pk, changed, told, now)
        _write_standings(changed)
    _write_holds(site, worked)
    settle_alerts(
        site=site,
        answered_for=Alert.objects.filter(opening__in=ids, rule__in=FOUND_BY_FOLD),
        found=found,
        now=now,
        ended_by_plan=ended_by_plan,
    )
    DirtyOpening.objects.filter(pk__in=owed).delete()
    return len(changed)


def as_it_stands(ids: Iterable[Any], now: datetime) -> tuple[list[WorkedOut], dict[Key, Alert]]:
    """How openings stand by all that is known, and the alerts that their rules find; what projections are made of."""
    worked = work_out_cases(ids)
    found = {key_of(alert): alert for w in worked for alert in _alerts(w, now)}
    return hold_back(worked, found), found


def _lock_progress(site_id: Any, ids: Sequence[Any], now: datetime) -> dict[UUID, Progress]:
    known = set(Progress.objects.filter(pk__in=ids).values_list("pk", flat=True))
    Progress.objects.bulk_create(
        (
            Progress(opening_id=pk, site_id=site_id, floor_id=floor, state={}, worked_out_at=now, seq=0)
            for pk, floor in Opening.objects.filter(pk__in=set(ids) - known).order_by("pk").values_list("pk", "floor")
        ),
        ignore_conflicts=True,
    )
    rows = Progress.objects.select_for_update(of=("self",)).filter(pk__in=ids).order_by("pk")
    return {row.pk: row for row in rows}


def _differs(before: Progress, worked: WorkedOut, told: Mapping[UUID, Told]) -> bool:
    return before.floor_id != worked.opening.floor_id or before.state != told[worked.opening.pk]


def _write_progress(site_id: Any, worked: Sequence[WorkedOut], told: Mapping[UUID, Told], now: datetime) -> None:
    numbers = next_numbers(site_id, len(worked))
    upsert_rows(
        [
            Progress(
                opening=w.opening,
                site_id=site_id,
                floor_id=w.opening.floor_id,
                state=told[w.opening.pk],
                next_stage=w.state.next_stage or "",
                next_trade=w.state.next_trade or "",
                earned=w.state.earned,
                total=w.state.total,
                held=any(hold.open for hold in w.state.holds),
                last_at=_moment(w.state.last_at),
                worked_out_at=now,
                seq=number,
            )
            for w, number in zip(worked, numbers, strict=True)
        ],
        unique=["opening"],
        update=PROGRESS_FIELDS,
    )


def _write_standings(worked: Sequence[WorkedOut]) -> None:
    """Most rows stay as they are; so they are compared as plain values, and made into models only to be written."""
    stored = StageStanding.objects.filter(opening__in=[w.opening.pk for w in worked]).order_by()
    rows = {(row[0], row[1]): row[2:] for row in stored.values_list("opening_id", "stage", *STANDING_COLUMNS)}
    fresh = []
    for w in worked:
        for place, stage in enumerate(w.case.plan.stages):
            standing = _standing(w, place, w.state.stages[stage.code], stage.trade, stage.weight)
            if rows.pop((w.opening.pk, stage.code), None) != standing:
                told = dict(zip(STANDING_COLUMNS, standing, strict=True))
                fresh.append(StageStanding(opening=w.opening, site_id=w.opening.site_id, stage=stage.code, **told))
    for code in {code for _, code in rows}:  # a stage of a plan that these openings no longer follow
        left = [opening for opening, other in rows if other == code]
        StageStanding.objects.filter(stage=code, opening__in=left).delete()
    upsert_rows(fresh, unique=["opening", "stage"], update=STANDING_FIELDS)


def _standing(w: WorkedOut, place: int, stage: StageState, trade: str, weight: int) -> tuple[Any, ...]:
    """The values of `STANDING_COLUMNS`."""
    return (
        w.opening.floor_id,
        _done_by(w, stage),
        place,
        str(trade),
        str(stage.state),
        stage.actionable and not stage.awaits_signature,  # who signs it is asked, not the trade
        stage.awaits_signature,
        _moment(stage.since),
        weight,
    )


def _done_by(w: WorkedOut, stage: StageState) -> UUID | None:
    """The company that gets the credit, as in the weekly status: whose report the done stage rests on."""
    return UUID(w.case.facts[stage.fact].company) if stage.state is State.DONE and stage.fact else None


def _write_holds(site: Site, worked: Sequence[WorkedOut]) -> None:
    """Holds follow from more than the state keeps (a reading that failed and was read again), so each is compared."""
    rows = {hold.pk: hold for hold in Hold.objects.filter(opening__in=[w.opening.pk for w in worked])}
    fresh = []
    for hold in (*_reported_holds(worked), *holds_from_checks(site, worked)):
        old = rows.pop(hold.pk, None)
        if old is None or any(getattr(old, f) != getattr(hold, f) for f in HOLD_COMPARED):
            fresh.append(hold)
    if rows:  # taken back: it never was
        Hold.objects.filter(pk__in=rows).delete()
    Hold.objects.bulk_create(fresh, update_conflicts=True, unique_fields=["id"], update_fields=HOLD_FIELDS)


def _alerts(w: WorkedOut, now: datetime) -> Iterator[Alert]:
    for rule in OPENING_RULES:
        for finding in rule.find(w.case):
            yield Alert(
                site_id=w.opening.site_id,
                opening=w.opening,
                rule=finding.rule,
                cause=finding.cause,
                severity=finding.severity,
                opened_at=now,
                happened_at=from_ms(finding.at),
                evidence=dict(finding.evidence),
            )


def _reported_holds(worked: Sequence[WorkedOut]) -> Iterator[Hold]:
    for w in worked:
        for hold in w.state.holds:
            release = w.case.facts[hold.released_by] if hold.released_by else None
            yield Hold(
                pk=UUID(hold.id),
                site_id=w.opening.site_id,
                opening=w.opening,
                stage=hold.stage,
                reason=hold.note,
                opened_at=from_ms(hold.at),
                opened_by_id=UUID(hold.person),
                company_id=UUID(hold.company),
                released_at=_moment(hold.released_at),
                released_by_id=UUID(release.person) if release else None,
                released_why=release.note if release else "",
            )


def _moment(ms: int | None) -> datetime | None:
    return None if ms is None else from_ms(ms)
