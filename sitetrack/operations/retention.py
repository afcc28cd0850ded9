"""What is kept for a time only, and for how long: personal data and copies that are asked for during days, not years.

The record itself has no end here: check-ins, checks, signatures, the sealed record, the audit trail, schedule
revisions, issued weekly statuses and photos are never removed. Each kind goes in batches, so that nobody waits long
for a lock; a run that is broken off leaves nothing half done.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.conf import settings
from django.contrib.sessions.models import Session
from django.db.models import Q, QuerySet

from inspections.models import Mail, WebhookMessage
from openings.models import IntakeDraft, PlanDraft
from openings.services.drafts import drop_file
from sitetrack.access.models import EnrolmentCode, FailedTry, Invitation, SignedIn

BATCH = 500


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of rows and those of it whose time is up. `found` may be asked again after some were removed."""

    name: str
    found: QuerySet


def kinds(now: datetime) -> Iterator[Kind]:
    """Everything that has an end, with the rows that have reached it."""
    yield Kind("sessions that ran out", Session.objects.filter(expire_date__lt=now))
    # Kept as long as the longest session; the list of one's own sessions would otherwise show those long gone.
    gone = now - timedelta(seconds=settings.SESSION_COOKIE_AGE)
    yield Kind("browsers signed in that ran out", SignedIn.objects.filter(began_at__lt=gone))

    tries = now - timedelta(days=settings.KEEP_FAILED_TRIES_DAYS)
    for model in (AccessAttempt, AccessFailureLog, AccessLog):
        yield Kind(f"sign-ins noted ({model.__name__})", model.objects.filter(attempt_time__lt=tries))
    yield Kind("tries counted", FailedTry.objects.filter(at__lt=tries))

    sent = now - timedelta(days=settings.KEEP_SENT_DAYS)
    yield Kind("mails settled", Mail.objects.filter(settled_at__lt=sent))
    yield Kind("webhook messages settled", WebhookMessage.objects.filter(settled_at__lt=sent))

    held = now - timedelta(days=settings.KEEP_DRAFTS_DAYS)
    yield Kind("schedule files held and never taken in", IntakeDraft.objects.filter(made_at__lt=held))
    yield Kind("drafts of plans dropped", PlanDraft.objects.filter(dropped_at__lt=held))

    asked = now - timedelta(days=settings.KEEP_EXPIRED_DAYS)
    # Who came by an invitation or a code is part of the record; who never did is not.
    never_came = Q(taken_at=None) & (Q(expires_at__lt=asked) | Q(withdrawn_at__lt=asked))
    yield Kind("invitations nobody took", Invitation.objects.filter(never_came, membership=None))
    yield Kind("enrolment codes nobody used", EnrolmentCode.objects.filter(device=None, expires_at__lt=asked))


def count_old(*, now: datetime) -> dict[str, int]:
    """How many of each kind have reached their end; nothing is removed."""
    return {kind.name: kind.found.count() for kind in kinds(now)}


def tidy(*, now: datetime) -> dict[str, int]:
    """Remove what has reached its end; how many of each kind went."""
    return {kind.name: _remove(kind.found) for kind in kinds(now)}


def _remove(found: QuerySet) -> int:
    """In batches of their own transactions; only what was found is counted, not what goes with it."""
    count = 0
    while batch := list(found.order_by("pk")[:BATCH]):
        if isinstance(batch[0], IntakeDraft):
            for draft in batch:
                drop_file(draft=draft)  # the file goes with its row
        else:
            found.filter(pk__in=[row.pk for row in batch]).delete()
        count += len(batch)
    return count
