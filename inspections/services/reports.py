"""The words between those who send check-ins and the one service that stores them."""

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, Literal
from uuid import UUID

from django.utils.translation import gettext as _

from sitetrack.access.models import Device, Membership, Person
from sitetrack.kit.problems import Forbidden


@dataclass(frozen=True, slots=True)
class Sender:
    """Who sends: a person in one standing on the site, from a phone or (None) from a page.

    `others` are the standings the person had there at other times. What was reported offline counts for the company
    and the trade of the day it happened, though it arrives after the person moved on.
    """

    person: Person
    membership: Membership
    device: Device | None = None
    others: tuple[Membership, ...] = ()

    def at(self, moment: datetime) -> "Sender":
        """The sender as they stood at a moment; raises `Forbidden` where they had no standing then nor have one now."""
        for standing in (self.membership, *self.others):
            if standing.began_at <= moment and (standing.ended_at is None or moment < standing.ended_at):
                return replace(self, membership=standing)
        if self.membership.ended_at is not None:
            raise Forbidden(_("You had no role on this site when this happened. Ask its supervisor."))
        return self


@dataclass(frozen=True, slots=True)
class Report:
    """One well-formed item, not yet judged against the site.

    `happened_at` is by the sender's own clock. `digest` tells the same content again from other content under one id.
    `raw` is the item exactly as sent, kept whole if it must be kept aside; only a signing code is never in it.
    `signer` signs on another's phone and proves it by `signing_code`.
    """

    id: UUID
    opening: str
    stage: str
    action: str
    happened_at: datetime
    digest: str
    raw: dict[str, Any]
    counter: int | None = None
    about: UUID | None = None
    readings: dict[str, str] = field(default_factory=dict)
    answers: dict[str, bool] = field(default_factory=dict)
    note: str = ""
    photos: tuple[str, ...] = ()
    extra: dict[str, Any] = field(default_factory=dict)
    signer: UUID | None = None
    signing_code: str = field(default="", repr=False)

    @property
    def waives(self) -> bool:
        """Whether this is a signature that lets a failed check stand, for the reason in `note`."""
        return self.action == "sign" and self.answers.get("waive") is True


@dataclass(frozen=True, slots=True)
class ItemResult:
    """What became of one item: stored, known, kept_aside or refused."""

    id: str | None
    outcome: Literal["stored", "known", "kept_aside", "refused"]
    verdict: dict[str, Any] | None = None
    problem: dict[str, Any] | None = None
    opening_id: UUID | None = None

    def as_dict(self) -> dict[str, Any]:
        """The result as the push answers it."""
        return {"id": self.id, "outcome": self.outcome, "verdict": self.verdict, "problem": self.problem}
