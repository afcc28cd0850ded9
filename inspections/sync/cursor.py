"""The cursor: how far a phone has pulled, in a form that only this server writes and reads.

It is signed, so that one cut short or from another server is told from a good one. Whatever can't be trusted any more
is answered by starting over, never by an error: a phone in a stairwell can't mend its cursor.
"""

import hashlib
import json
from dataclasses import astuple, dataclass
from datetime import datetime, timedelta
from typing import Any

from django.core import signing

LONGEST = 400
LIFE = timedelta(days=60)  # twice as long as a phone may stay away
FORM = 1

_signer = signing.Signer(salt="sitetrack.pull", sep=".")


@dataclass(frozen=True, slots=True)
class Cursor:
    """How far a phone has pulled.

    `scope`: the digest of who asked, as what. `told`, `told_count`: the digest of the site's own records, and how many
    of them were sent. `position`: every numbered change up to here was sent. `since`: the number from which on the
    phone must hear of what is gone; before it, it had heard of nothing. `witness`: the last check-in at `position`.
    `at`: seconds since 1970.
    """

    scope: str
    told: str
    told_count: int
    position: int
    since: int
    witness: str
    at: int

    def text(self) -> str:
        """The cursor as the phone keeps it."""
        return _signer.sign_object([FORM, *astuple(self)])

    def expired(self, now: datetime) -> bool:
        """Whether it is too old to go on from, or from a time to come."""
        return not timedelta(minutes=-5) <= now - datetime.fromtimestamp(self.at, now.tzinfo) <= LIFE


def read_cursor(text: str) -> Cursor | None:
    """The cursor that was given out as this text, or None for anything else."""
    if len(text) > LONGEST:
        return None
    try:
        form, *values = _signer.unsign_object(text)
        return Cursor(*values) if form == FORM else None
    except (signing.BadSignature, ValueError, TypeError):
        return None


def short_digest(*values: Any) -> str:
    """A short digest of plain values; two that differ have different ones, for all that a cursor needs."""
    text = json.dumps(values, sort_keys=True, separators=(",", ":"), default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:16]
