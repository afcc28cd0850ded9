"""What may not be tried without end: codes, links, asking for a new password. Counted in the data base.

So that all web processes count together, and a restart forgets nothing. A try is counted before it is made known
whether it was right, in a transaction that is not undone by the refusal.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.utils.translation import ngettext

from sitetrack.access.models import FailedTry
from sitetrack.kit.problems import Problem


class TooManyTries(Problem):
    code, status, title = "too-many-tries", 429, "Too many tries"


@dataclass(frozen=True, slots=True)
class Patience:
    """So many tries within a while."""

    name: str
    most: int
    within: timedelta

    def subject(self, whose: str) -> str:
        return f"{self.name}:{whose}"[:80]


QUARTER = timedelta(minutes=15)
CODE_OF_PERSON = Patience("code", 5, QUARTER)
CODE_OF_PERSON_A_DAY = Patience("code-day", 50, timedelta(days=1))
PASSWORD_MAIL_TO = Patience("mail", 3, timedelta(hours=1))
PASSWORD_MAIL_FROM = Patience("mail-from", 20, timedelta(hours=1))
LINK_FROM = Patience("link-from", 30, QUARTER)


def waits_until(patience: Patience, whose: str, now: datetime) -> datetime | None:
    """When the next try may be made; None for now."""
    recent = FailedTry.objects.filter(subject=patience.subject(whose), at__gt=now - patience.within)
    latest = list(recent.order_by("-at").values_list("at", flat=True)[: patience.most])
    return latest[-1] + patience.within if len(latest) == patience.most else None


def must_not_wait(patience: Patience, whose: str, now: datetime) -> None:
    """Raise `TooManyTries`, saying for how long to wait, where too many were made."""
    if until := waits_until(patience, whose, now):
        minutes = max(1, -(-(until - now) // timedelta(minutes=1)))
        said = ngettext(
            "Too many tries. Wait %(minutes)d minute, then try again.",
            "Too many tries. Wait %(minutes)d minutes, then try again.",
            minutes,
        )
        raise TooManyTries(said % {"minutes": minutes})


@transaction.atomic
def count_try(patience: Patience, whose: str, now: datetime) -> None:
    """Note one try; those too old to count are cleared away with it, so that the table stays small."""
    FailedTry.objects.filter(subject=patience.subject(whose), at__lte=now - patience.within).delete()
    FailedTry.objects.create(subject=patience.subject(whose), at=now)


def forget_tries(patience: Patience, whose: str) -> None:
    """It was right: what went wrong before counts no more."""
    FailedTry.objects.filter(subject=patience.subject(whose)).delete()
