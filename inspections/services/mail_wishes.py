"""What each person of a site wishes to be mailed of its alerts."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from inspections.models import MailWish
from inspections.models.mails import Wish
from openings.models import Site
from sitetrack.access.models import Membership, Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.roles import Role
from sitetrack.access.scope import membership_of
from sitetrack.access.services.trail import record_change
from sitetrack.kit.problems import BadInput, FieldError, Forbidden

# A site's supervisors are told though they chose nothing; whoever else wants to be told says so.
UNLESS_CHOSEN = {Role.SUPERVISOR: Wish.AT_ONCE}


@dataclass(frozen=True, slots=True)
class Told:
    """A person of a site and how they are told."""

    person: Person
    wish: Wish


def people_of(site: Site) -> Iterator[Told]:
    """Everyone who stands on the site now, with their wish. Two queries."""
    wishes = dict(MailWish.objects.filter(site=site).values_list("person", "wish"))
    standings = Membership.objects.filter(site=site, ended_at=None, person__is_active=True)
    for standing in standings.select_related("person").order_by("pk"):
        yield Told(standing.person, _wish(wishes.get(standing.person_id), standing.role))


def wish_of(site_id: Any, person: Person) -> Wish | None:
    """How a person is told; None for whoever has no role there, or whose account is stopped."""
    standing = membership_of(person, site_id)
    if standing is None or not person.is_active:
        return None
    chosen = MailWish.objects.filter(site=site_id, person=person).values_list("wish", flat=True).first()
    return _wish(chosen, standing.role)


@transaction.atomic
def choose_wish(*, site: Site, wish: str, who: Person, now: datetime) -> Wish:
    """Choose for oneself how one is told."""
    before = wish_of(site.pk, who)
    if before is None:
        raise Forbidden(_("You have no role on this site."))
    if wish not in Wish.values:
        raise BadInput(
            _("Choose one of the three."), errors=[FieldError("wish", "no such choice", wish, ", ".join(Wish.values))]
        )
    MailWish.objects.update_or_create(site=site, person=who, defaults={"wish": wish})
    if wish != before:
        record_change(
            site=site, who=who, now=now, kind=Kind.MAILING, act=Act.CHANGED, about=who,
            differences={"alerts": (before, wish)},
        )  # fmt: skip
    return Wish(wish)


def _wish(chosen: str | None, role: str) -> Wish:
    return Wish(chosen) if chosen else UNLESS_CHOSEN.get(Role(role), Wish.NEVER)
