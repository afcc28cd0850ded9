"""The one place that writes check-ins.

A batch of one site is one transaction. Its first write takes numbers from the site's counter, which locks the site's
row until commit: two workers, two tabs or a repeated batch then find each other's items instead of storing them twice,
and the numbers become visible in order. Each item has its own outcome; none sinks another.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from inspections.models import CheckIn, CheckInPhoto, FrameCheck, KeptAside, SealedEntry, SignOff, ToleranceProfile
from inspections.models.checkins import Action
from inspections.services.clocks import Clock, read_clock
from inspections.services.deciding import Subject, decide
from inspections.services.judging import Judgement, judge_report
from inspections.services.profiles import current_profile, prepared_profile
from inspections.services.reports import ItemResult, Report, Sender
from inspections.services.sealing import chain_record
from inspections.services.signing import chain_sign_offs
from openings.models import Opening, Site
from openings.selectors.comparison import number_key, with_numbers
from openings.selectors.plans import prepared_plan
from openings.services.changes import mark_dirty, next_numbers
from sitetrack.access.models import Device
from sitetrack.access.roles import Role
from sitetrack.access.scope import membership_of
from sitetrack.kit.clock import MILLISECOND
from sitetrack.kit.ids import new_id
from sitetrack.kit.problems import BadInput, ContentDiffers, FieldError, Forbidden, Problem

MOST_ITEMS = 500


@transaction.atomic
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
    numbers = iter(next_numbers(site.pk, len(reports)))
    clock = read_clock(sender.device, device_time, now)
    batch = _Batch(site, sender, clock, reports, signers or {})
    results = [batch.take(report, next(numbers)) for report in reports]
    batch.store()
    if sender.device and device_time:
        # A batch sent again word for word carries the time of its first sending, which says nothing of the clock now.
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
    about: UUID | None = None,
    note: str = "",
    readings: dict[str, str] | None = None,
    answers: dict[str, bool] | None = None,
) -> ItemResult:
    """One report made on a page, by the server's own clock; raises the `Problem` that a push would have answered."""
    membership = membership_of(who, site.pk)
    if membership is None:
        raise Forbidden("You have no role on this site.")
    said: dict[str, Any] = {"readings": readings or {}, "answers": answers or {}, "note": note}
    raw = {"action": action, "about": str(about or ""), **said}
    report = Report(
        id=new_id(),
        opening=opening.number,
        stage=stage,
        action=action,
        happened_at=now,
        digest=content_digest(raw),
        raw=raw,
        about=about,
        **said,
    )
    with transaction.atomic():
        number = next_numbers(site.pk, 1)[0]
        batch = _Batch(site, Sender(who, membership), read_clock(None, None, now), [report])
        result = batch.accept(report, number)
        batch.store()
    return result


def record_placed(*, item: KeptAside, report: Report, sender: Sender, now: datetime) -> CheckIn:
    """Store an item that was kept aside, now that a supervisor has said where it belongs; inside their transaction.

    It counts as of when it happened: its times, corrected at first receipt, stay. What is new is that it is received
    now, so that no figure already issued changes. Raises the `Problem` that a push would have answered.
    """
    number = next_numbers(item.site_id, 1)[0]
    batch = _Batch(item.site, sender, Clock(item.corrected_at - item.happened_at, now), [report])
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


@dataclass(slots=True)
class _Batch:
    """What a batch needs to know, asked in a fixed number of queries, and what it will write."""

    site: Site
    sender: Sender
    clock: Clock
    reports: Sequence[Report]
    signers: Mapping[UUID, Sender | Problem] = field(default_factory=dict)
    known: dict[UUID, tuple[str, dict[str, Any] | None, bool]] = field(init=False)
    subjects: dict[UUID, Subject] = field(init=False)
    openings: dict[str, Opening] = field(init=False)
    profile: ToleranceProfile = field(init=False)
    counters: dict[int, UUID] = field(init=False, default_factory=dict)
    check_ins: list[CheckIn] = field(init=False, default_factory=list)
    frame_checks: list[FrameCheck] = field(init=False, default_factory=list)
    kept_aside: list[KeptAside] = field(init=False, default_factory=list)

    def __post_init__(self) -> None:
        ids = {r.id for r in self.reports}
        rows = CheckIn.objects.filter(pk__in=ids | {r.about for r in self.reports if r.about}).order_by()
        self.known, self.subjects = {}, {}
        for row in rows.values_list(
            "id", "content_digest", "frame_check__judged", "opening_id", "stage", "action", "company_id", "person_id"
        ):
            self.known[row[0]] = (row[1], row[2], False)
            self.subjects[row[0]] = Subject(*row[3:])
        for id_, digest in KeptAside.objects.filter(pk__in=ids).order_by().values_list("id", "content_digest"):
            self.known.setdefault(id_, (digest, None, True))
        named = with_numbers(Opening.objects.filter(site=self.site), {r.opening for r in self.reports})
        self.openings = {number_key(opening.number): opening for opening in named.order_by()}
        self.profile = current_profile(self.site, self.clock.now)
        if self.sender.device:
            used = CheckIn.objects.filter(device=self.sender.device, counter__in={r.counter for r in self.reports})
            self.counters = dict(used.order_by().values_list("counter", "id"))

    def take(self, report: Report, number: int) -> ItemResult:
        """Answer one report, refusing it in words rather than raising."""
        try:
            return self.accept(report, number)
        except Problem as problem:
            return ItemResult(str(report.id), "refused", problem=problem.as_dict())

    def accept(self, report: Report, number: int) -> ItemResult:
        """Answer one report; raises `Problem` where it is refused."""
        if seen := self.known.get(report.id):
            digest, judged, aside = seen
            if digest != report.digest:
                raise ContentDiffers("This id was sent before with other content. Give a new check-in its own id.")
            # An item already kept aside stays so until a supervisor places it.
            return ItemResult(str(report.id), "known", judged, _aside_problem("waiting") if aside else None)
        sender = self._who_says(report).at(self.clock.corrected(report.happened_at))
        if sender.membership.role == Role.VIEWER:
            raise Forbidden("Viewers look and don't report. Ask the supervisor for a role on this site.")
        opening = self.openings.get(number_key(report.opening))
        if opening is None:
            return self._keep_aside(report, sender, number, "unknown opening")
        stage = next((s for s in prepared_plan(opening.plan_id).stages if s.code == report.stage), None)
        if stage is None:
            return self._keep_aside(report, sender, number, "unknown stage")
        decide(
            report,
            stage=stage,
            sender=sender,
            opening_id=opening.pk,
            known=self.subjects,
            two_persons=self.site.signer_differs_from_reader,
        )
        judgement = judge_report(report, stage=stage, opening=opening, profile=prepared_profile(self.profile.pk))
        return self._keep(report, sender, number, opening, judgement)

    def store(self) -> None:
        """Write everything accepted."""
        CheckIn.objects.bulk_create(self.check_ins)
        CheckInPhoto.objects.bulk_create(
            CheckInPhoto(check_in=c, digest=digest, site_id=c.site_id, company_id=c.company_id)
            for c in self.check_ins
            for digest in c.photos
        )
        FrameCheck.objects.bulk_create(self.frame_checks)
        sign_offs = chain_sign_offs(self.site, [c for c in self.check_ins if c.action == Action.SIGN])
        SignOff.objects.bulk_create(sign_offs)
        checks_by_id = {check.check_in_id: check for check in self.frame_checks}
        sign_offs_by_id = {sign_off.check_in_id: sign_off for sign_off in sign_offs}
        SealedEntry.objects.bulk_create(
            chain_record(self.site, self.check_ins, checks_by_id, sign_offs_by_id, self.clock.now)
        )
        KeptAside.objects.bulk_create(self.kept_aside)
        mark_dirty(self.site.pk, (c.opening_id for c in self.check_ins), self.clock.now)

    def _who_says(self, report: Report) -> Sender:
        """Who says this: the sender, or whoever signed on the sender's phone; raises why that was not proved."""
        signer = self.signers.get(report.id, self.sender)
        if isinstance(signer, Problem):
            raise signer
        return signer

    def _received(self, report: Report, sender: Sender, number: int) -> dict[str, Any]:
        corrected = self.clock.corrected(report.happened_at)
        return {
            "id": report.id,
            "site": self.site,
            "person": sender.person,
            "company_id": sender.membership.company_id,
            "role": sender.membership.role,
            "device": self.sender.device,
            "happened_at": report.happened_at,
            "corrected_at": corrected,
            "received_at": self.clock.now,
            "uncertainty_ms": self.clock.uncertainty_ms(corrected),
            "content_digest": report.digest,
            "seq": number,
        }

    def _keep(
        self, report: Report, sender: Sender, number: int, opening: Opening, judgement: Judgement | None
    ) -> ItemResult:
        check_in = CheckIn(
            **self._received(report, sender, number),
            opening=opening,
            stage=report.stage,
            action=report.action,
            counter=report.counter,
            about=report.about,
            readings=report.readings,
            answers=report.answers,
            note=report.note,
            photos=list(report.photos),
            verdict=judgement.outcome if judgement else "",
            waives=report.waives,
            needs_another=report.action == Action.SIGN and self.site.signer_differs_from_reader,
            clock_flag=self._clock_flag(report),
            extra=report.extra,
        )
        self.check_ins.append(check_in)
        if judgement:
            self.frame_checks.append(
                FrameCheck(
                    check_in=check_in,
                    site=self.site,
                    opening=opening,
                    company_id=check_in.company_id,
                    stage=check_in.stage,
                    read_at=check_in.corrected_at,
                    profile=self.profile,
                    verdict=judgement.outcome,
                    judged=judgement.details,
                )
            )
        details = judgement.details if judgement else None
        self.known[report.id] = (report.digest, details, False)
        self.subjects[report.id] = Subject(
            opening.pk, report.stage, report.action, check_in.company_id, check_in.person_id
        )
        return ItemResult(str(report.id), "stored", details, opening_id=opening.pk)

    def _clock_flag(self, report: Report) -> str:
        if report.counter is not None and self.counters.setdefault(report.counter, report.id) != report.id:
            return "counter used twice"
        return self.clock.flag_of(report.happened_at)

    def _keep_aside(self, report: Report, sender: Sender, number: int, reason: str) -> ItemResult:
        received = self._received(report, sender, number)
        self.kept_aside.append(KeptAside(**received, payload=report.raw, reason=reason))
        self.known[report.id] = (report.digest, None, True)
        return ItemResult(str(report.id), "kept_aside", problem=_aside_problem(reason))


def _aside_problem(reason: str) -> dict[str, Any]:
    return Problem(f"Kept whole for the supervisor to place: {reason}.").as_dict() | {"type": "/problems/kept-aside"}


def _note_clock(device: Device, clock: Clock, *, heard: bool) -> None:
    device.last_seen_at = clock.now
    fields = ["last_seen_at"]
    if heard:
        device.clock_offset_ms = clock.offset // MILLISECOND
        fields.append("clock_offset_ms")
    if heard and clock.flag:
        device.clock_jumped_at = clock.now
        fields.append("clock_jumped_at")
    device.save(update_fields=fields)
