"""The one place that writes check-ins.

The readings of a batch are judged first; then the batch of one site is one transaction. Its first write takes numbers
from the site's counter, which locks the site's row until commit: two workers, two tabs or a repeated batch then find
each other's items instead of storing them twice, and the numbers become visible in order. Each item has its own
outcome; none sinks another.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from inspections.models import CheckIn, KeptAside
from inspections.services.batch import Batch
from inspections.services.clocks import Clock, read_clock
from inspections.services.judging_ahead import judge_ahead
from inspections.services.reports import ItemResult, Report, Sender
from openings.models import Opening, Site
from openings.services.changes import next_numbers
from sitetrack.access.models import Device
from sitetrack.access.scope import membership_of
from sitetrack.kit.clock import MILLISECOND
from sitetrack.kit.ids import new_id
from sitetrack.kit.problems import BadInput, FieldError, Forbidden, Problem

MOST_ITEMS = 500


def record_check_ins(
    *,
    site: Site,
    sender: Sender,
    reports: Sequence[Report],
    device_time: datetime | None,
    now: datetime,
    signers: Mapping[UUID, Sender | Problem] | None = None,
) -> list[ItemResult]:
    """Store a batch of reports of one site and answer each, in order.

    `device_time` is the sender's clock when it sent; None where there is no other clock than ours. `signers` has for
    a report's id who proved to have signed it on the sender's phone, or why that was not proved.
    """
    if len(reports) > MOST_ITEMS:
        raise ValueError(f"at most {MOST_ITEMS} reports at once")
    ahead = judge_ahead(site, reports)
    with transaction.atomic():
        numbers = iter(next_numbers(site.pk, len(reports)))
        clock = read_clock(sender.device, device_time, now)
        batch = Batch(site, sender, clock, reports, signers or {}, ahead)
        results = [batch.take(report, next(numbers)) for report in reports]
        batch.store()
        if sender.device and device_time:
            # A batch sent again word for word carries the time of its first sending: nothing of the clock now.
            _note_clock(sender.device, clock, heard=any(r.outcome in {"stored", "kept_aside"} for r in results))
    return results


def record_from_desk(  # noqa: PLR0913 - a report has as many parts as that
    *,
    site: Site,
    opening: Opening,
    stage: str,
    action: str,
    who: Any,
    now: datetime,
    happened_at: datetime | None = None,
    about: UUID | None = None,
    note: str = "",
    readings: dict[str, str] | None = None,
    answers: dict[str, bool] | None = None,
) -> ItemResult:
    """One report made on a page, by the server's own clock; raises the `Problem` that a push would have answered.

    `happened_at` is when it was, as a person says, where that is not now.
    """
    said = {"note": note, "readings": readings or {}, "answers": answers or {}}
    happened_at = happened_at or now
    report = desk_report(opening=opening, stage=stage, action=action, happened_at=happened_at, about=about, **said)
    return record_desk_reports(site=site, reports=[report], who=who, now=now)[0]


def desk_report(
    *, opening: Opening, stage: str, action: str, happened_at: datetime, about: UUID | None = None, **said: Any
) -> Report:
    """A report made on a page; `said` are its note, readings and answers."""
    raw = {"action": action, "about": str(about or ""), "readings": {}, "answers": {}, "note": "", **said}
    return Report(
        id=new_id(),
        opening=opening.number,
        stage=stage,
        action=action,
        happened_at=happened_at,
        digest=content_digest(raw),
        raw=raw,
        about=about,
        **said,
    )


@transaction.atomic
def record_desk_reports(*, site: Site, reports: Sequence[Report], who: Any, now: datetime) -> list[ItemResult]:
    """Reports made on a page, all of them or none; raises the `Problem` that a push would have answered."""
    membership = membership_of(who, site.pk)
    if membership is None:
        raise Forbidden(_("You have no role on this site."))
    numbers = iter(next_numbers(site.pk, len(reports)))
    batch = Batch(site, Sender(who, membership), read_clock(None, None, now), reports)
    results = [batch.accept(report, next(numbers)) for report in reports]
    batch.store()
    return results


def record_placed(*, item: KeptAside, report: Report, sender: Sender, now: datetime) -> CheckIn:
    """Store an item that was kept aside, now that a supervisor has said where it belongs; inside their transaction.

    It counts as of when it happened: its times, corrected at first receipt, stay. What is new is that it is received
    now, so that no figure already issued changes. Raises the `Problem` that a push would have answered.
    """
    number = next_numbers(item.site_id, 1)[0]
    batch = Batch(item.site, sender, Clock(item.corrected_at - item.happened_at, now), [report])
    batch.known.pop(item.pk, None)
    result = batch.accept(report, number)
    if result.outcome != "stored":
        expected = f"the code of a stage in the plan of {report.opening}"
        error = FieldError("stage", "no such stage there", read=report.stage, expected=expected)
        raise BadInput(f"stage: {report.stage!r} can't be used; expected {expected}.", errors=[error])
    (check_in,) = batch.check_ins
    check_in.uncertainty_ms = item.uncertainty_ms
    batch.store()
    return check_in


def content_digest(raw: dict[str, Any]) -> str:
    """SHA-256 of an item as sent, whatever the order of its members."""
    text = json.dumps(raw, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def _note_clock(device: Device, clock: Clock, *, heard: bool) -> None:
    device.last_seen_at = clock.now
    fields = ["last_seen_at"]
    if heard:
        device.clock_offset_ms, device.clock_read_at = clock.offset // MILLISECOND, clock.now
        fields += ["clock_offset_ms", "clock_read_at"]
    if heard and clock.flag:
        device.clock_jumped_at = clock.now
        fields.append("clock_jumped_at")
    device.save(update_fields=fields)
