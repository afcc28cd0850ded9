"""What the server still owes: openings to work out, mail and webhook messages to send, items to place."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Min, QuerySet

from inspections.models import KeptAside, Mail, WebhookMessage
from inspections.models.mails import SendState
from openings.models import DirtyOpening


@dataclass(frozen=True, slots=True)
class Owed:
    """How many of a kind wait, and how long the oldest has waited, in seconds."""

    kind: str
    waiting: int
    oldest_s: float


def owed(now: datetime) -> list[Owed]:
    """Over all sites: operations watch the server, not a job. One query a kind, whatever is stored."""
    return [
        _waiting("openings to work out", DirtyOpening.objects.all(), "marked_at", now),
        _waiting("openings that can't be worked out", DirtyOpening.objects.filter(tries__gt=0), "marked_at", now),
        _waiting("mails", Mail.objects.filter(state=SendState.WAITING), "owed_at", now),
        _waiting("webhook messages", WebhookMessage.objects.filter(state=SendState.WAITING), "owed_at", now),
        _waiting("check-ins kept aside", KeptAside.objects.filter(settled=""), "received_at", now),
    ]


def _waiting(kind: str, rows: QuerySet, since: str, now: datetime) -> Owed:
    found = rows.aggregate(n=Count("pk"), oldest=Min(since))
    age = (now - found["oldest"]).total_seconds() if found["oldest"] else 0.0
    return Owed(kind, found["n"], max(age, 0.0))
