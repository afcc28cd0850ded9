"""What one batch of reports asks of the data base, what it makes of each report, and what it writes at the end.

Used by check_ins.py only, which opens the transaction and holds the site's lock.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspections.models import CheckIn, CheckInPhoto, FrameCheck, KeptAside, ToleranceProfile
from inspections.models.checkins import Action
from inspections.services.clocks import Clock
from inspections.services.deciding import Subject, decide
from inspections.services.judging import Judgement, judge_report
from inspections.services.judging_ahead import Foreseen, JudgedBy
from inspections.services.profiles import current_profile, prepared_profile
from inspections.services.reports import ItemResult, Report, Sender
from inspections.services.sealing import chain_record
from inspections.services.signing import chain_sign_offs
from openings.models import Opening, Site
from openings.selectors.comparison import number_key, openings_by_number
from openings.selectors.plans import prepared_plan
from openings.sequence.stage import Stage
from openings.services.changes import mark_dirty
from sitetrack.access.roles import Role
from sitetrack.kit.bulk import insert_rows
from sitetrack.kit.problems import ContentDiffers, Forbidden, Problem

ASIDE = {
    "unknown opening": gettext_lazy("unknown opening"),
    "unknown stage": gettext_lazy("unknown stage"),
    "waiting": gettext_lazy("it waits for that"),
}


@dataclass(slots=True)
class Batch:
    """What a batch needs to know, asked in a fixed number of queries, and what it will write."""

    site: Site
    sender: Sender
    clock: Clock
    reports: Sequence[Report]
    signers: Mapping[UUID, Sender | Problem] = field(default_factory=dict)
    ahead: Mapping[UUID, Foreseen] = field(default_factory=dict)
    known: dict[UUID, tuple[str, dict[str, Any] | None, bool]] = field(init=False)
    subjects: dict[UUID, Subject] = field(init=False)
    openings: dict[str, Opening] = field(init=False)
    profile: ToleranceProfile = field(init=False)
    counters: dict[int, UUID] = field(init=False, default_factory=dict)
    check_ins: list[CheckIn] = field(init=False, default_factory=list)
    frame_checks: list[FrameCheck] = field(init=False, default_factory=list)
    written: dict[UUID, bytes] = field(init=False, default_factory=dict)
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
        self.openings = openings_by_number(self.site, {r.opening for r in self.reports})
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
                raise ContentDiffers(_("This id was sent before with other content. Give a new check-in its own id."))
            # An item already kept aside stays so until a supervisor places it.
            return ItemResult(str(report.id), "known", judged, _aside_problem("waiting") if aside else None)
        sender = self._who_says(report).at(self.clock.corrected(report.happened_at))
        if sender.membership.role == Role.VIEWER:
            raise Forbidden(_("Viewers look and don't report. Ask the supervisor for a role on this site."))
        opening = self.openings.get(number_key(report.opening))
        if opening is None:
            return self._keep_aside(report, sender, number, "unknown opening")
        stage = prepared_plan(opening.plan_id).find(report.stage)
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
        return self._keep(report, sender, number, opening, self._judge(report, stage, opening))

    def store(self) -> None:
        """Write everything accepted."""
        insert_rows(self.check_ins)
        insert_rows(
            CheckInPhoto(check_in=c, digest=digest, site_id=c.site_id, company_id=c.company_id)
            for c in self.check_ins
            for digest in c.photos
        )
        insert_rows(self.frame_checks)
        sign_offs = chain_sign_offs(self.site, [c for c in self.check_ins if c.action == Action.SIGN])
        insert_rows(sign_offs)
        insert_rows(
            chain_record(
                self.site,
                self.check_ins,
                {check.check_in_id: check for check in self.frame_checks},
                {sign_off.check_in_id: sign_off for sign_off in sign_offs},
                self.written,
                self.clock.now,
            )
        )
        insert_rows(self.kept_aside)
        mark_dirty(self.site.pk, (c.opening_id for c in self.check_ins), self.clock.now)

    def _judge(self, report: Report, stage: Stage, opening: Opening) -> Judgement | None:
        foreseen = self.ahead.get(report.id)
        if foreseen and foreseen.by == JudgedBy.now(stage, opening, self.profile.pk):
            return foreseen.judgement
        return judge_report(report, stage=stage, opening=opening, profile=prepared_profile(self.profile.pk))

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
            self.written[report.id] = judgement.written
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
    told = _("Kept whole for the supervisor to place: %(reason)s.") % {"reason": ASIDE[reason]}
    return Problem(told).as_dict() | {"type": "/problems/kept-aside", "title": _("Kept aside")}
