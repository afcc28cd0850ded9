"""Asking people onto a site: by a link that is good once, mailed or handed over.

Whoever has an account already gets the role at once. For everybody else the link proves who was asked; its digest is
all that is kept, so that nobody who reads the data base can use it.
"""

import secrets
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction
from django.db.models import Exists, OuterRef
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from sitetrack.access.models import Company, Invitation, Membership, Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import GIVES, ROLES, Right, must
from sitetrack.access.roles import Role, Trade
from sitetrack.access.services.enrolment import digest
from sitetrack.access.services.passwords import set_password
from sitetrack.access.services.trail import record_change
from sitetrack.kit.problems import BadInput, Conflict, FieldError, NotFound

GOOD_FOR = timedelta(days=7)
MOST_OPEN = 200  # of a site
LONGEST_NAME = 120
NOT_GOOD = gettext_lazy("This link is not good any more. Ask whoever invited you for a new one.")


@dataclass(frozen=True, slots=True)
class Standing:
    """What someone is to be on a site: a role, for a company by its name, with trades."""

    role: str
    company: str
    trades: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """Who is asked: an address, and how to speak to them."""

    email: str
    name: str = ""
    language: str = "en"


@dataclass(slots=True)
class Invited:
    """What came of it: a role given at once, or an invitation and its token, which is shown this once."""

    membership: Membership | None = None
    invitation: Invitation | None = None
    token: str = field(default="", repr=False)


@transaction.atomic
def invite(*, site_id: Any, asked: Asked, standing: Standing, who: Person, now: datetime) -> Invited:
    """Ask someone onto a site, or give the role at once to whoever has an account.

    Raises `Forbidden` for all but supervisors, `BadInput` naming the field, `Conflict` where the person stands on the
    site or was asked already.
    """
    giver = must(who, site_id, Right.MANAGE_PEOPLE)
    hold_people(site_id)
    email = _checked_address(asked)
    company, trades = settle_standing(standing, giver, now)
    person = Person.objects.filter(email__iexact=email).first()
    if person:
        if Membership.objects.filter(site=site_id, person=person, ended_at=None).exists():
            raise Conflict(_("%(name)s has a role on this site already. Change it in the list.") % {"name": person})
        return Invited(membership=_join(site_id, person, (standing.role, company, trades), who, now))
    waiting = Invitation.objects.filter(site=site_id, taken_at=None, withdrawn_at=None)
    if waiting.filter(email=email).exists():
        raise Conflict(_("%(email)s was asked already. Send the invitation again from the list.") % {"email": email})
    if waiting.count() >= MOST_OPEN:
        raise Conflict(_("Too many invitations are open. Withdraw those that nobody takes up."))
    token = secrets.token_urlsafe(32)
    invitation = Invitation.objects.create(
        site_id=site_id, email=email, name=asked.name.strip()[:LONGEST_NAME], language=asked.language, company=company,
        role=standing.role, trades=trades, token_digest=digest(token), made_by=who, made_at=now,
        expires_at=now + GOOD_FOR,
    )  # fmt: skip
    record_change(
        site=site_id, who=who, now=now, kind=Kind.INVITATION, act=Act.ADDED, about=invitation,
        differences=_told(standing.role, company, trades),
    )  # fmt: skip
    return Invited(invitation=invitation, token=token)


@transaction.atomic
def invite_again(*, invitation: Invitation, who: Person, now: datetime) -> str:
    """A new link in place of the old one, good for as long anew; gives its token, shown this once.

    Whoever sends it again answers for it from then on.
    """
    must(who, invitation.site_id, Right.MANAGE_PEOPLE)
    row = _waiting(Invitation.objects.filter(pk=invitation.pk))
    token = secrets.token_urlsafe(32)
    row.token_digest, row.expires_at, row.made_by = digest(token), now + GOOD_FOR, who
    row.save(update_fields=["token_digest", "expires_at", "made_by"])
    record_change(site=row.site_id, who=who, now=now, kind=Kind.INVITATION, act=Act.SENT, about=row)
    return token


@transaction.atomic
def withdraw_invitation(*, invitation: Invitation, who: Person, now: datetime) -> None:
    """Take an invitation back; its link is good no more."""
    must(who, invitation.site_id, Right.MANAGE_PEOPLE)
    row = _waiting(Invitation.objects.filter(pk=invitation.pk))
    row.withdrawn_at = now
    row.save(update_fields=["withdrawn_at"])
    record_change(site=row.site_id, who=who, now=now, kind=Kind.INVITATION, act=Act.REMOVED, about=row)


def invitation_of(*, token: str, now: datetime) -> Invitation | None:
    """The invitation of a link that can be used now; one used, withdrawn, too old or invented is not told apart."""
    return _usable(token, now).select_related("site", "company", "made_by").first()


@transaction.atomic
def take_invitation(*, token: str, name: str, password: str, language: str, now: datetime) -> Person:
    """Take the role asked for; makes the account where there is none yet, whose name and password these are.

    An account made meanwhile under the same address keeps its own: then only the role is given. Raises `NotFound` for
    a link that is not good, `BadInput` naming what is wrong with name or password.
    """
    found = _usable(token, now).first()
    if found is not None:
        hold_people(found.site_id)
    row = _usable(token, now).select_for_update(of=("self",)).first()
    if row is None:
        raise NotFound(str(NOT_GOOD))
    person = Person.objects.filter(email__iexact=row.email).first()
    made = person is None
    if person is None:
        if not name.strip():
            raise BadInput(_("Your name is missing."), errors=[FieldError("name", _("Your name is missing."))])
        person = Person.objects.create_user(row.email, None, name=name.strip()[:LONGEST_NAME], language=language)
    present = Membership.objects.filter(site=row.site_id, person=person, ended_at=None).first()
    row.membership = present or _join(row.site_id, person, (row.role, row.company, row.trades), row.made_by, now)
    if made:
        set_password(person=person, password=password, who=person, now=now)
    row.taken_at = now
    row.save(update_fields=["taken_at", "membership"])
    return person


def hold_people(site_id: Any) -> None:
    """Lock the supervisors' rows of a site: of two who change its people at once, one comes first and the other sees.

    Without it, the same address asked twice would meet in the data base's constraint, and two supervisors who remove
    each other would leave none.
    """
    rows = Membership.objects.select_for_update().filter(site=site_id, role=Role.SUPERVISOR, ended_at=None)
    list(rows.order_by("pk"))


def settle_standing(standing: Standing, giver: Membership, now: datetime) -> tuple[Company, list[str]]:
    """The company, made where it is new, and the trades; raises `BadInput` naming the field."""
    name, errors = " ".join(standing.company.split()), []
    if standing.role not in GIVES[Role(giver.role)]:
        errors.append(FieldError("role", _("Choose a role that is yours to give."), read=standing.role))
    if not 0 < len(name) <= LONGEST_NAME:
        errors.append(FieldError("company", _("Name the company the person works for."), read=name[:LONGEST_NAME]))
    if unknown := [trade for trade in standing.trades if trade not in Trade.values]:
        errors.append(FieldError("trades", _("No such trade."), read=unknown[0][:40]))
    if standing.role == Role.CREW and not standing.trades:
        errors.append(FieldError("trades", _("Choose at least one trade: a crew reports what its trades do.")))
    if errors:
        raise BadInput(errors[0].detail, errors=errors)
    company, made = Company.objects.get_or_create(name__iexact=name, defaults={"name": name})
    if made:
        record_change(site=giver.site_id, who=giver.person, now=now, kind=Kind.COMPANY, act=Act.ADDED, about=company)
    return company, sorted(set(standing.trades))


def _usable(token: str, now: datetime) -> Any:
    """Open invitations of this token, as long as whoever answers for them may still ask people onto the site."""
    givers = Membership.objects.filter(
        site=OuterRef("site"), person=OuterRef("made_by"), role__in=ROLES[Right.MANAGE_PEOPLE], ended_at=None,
        person__is_active=True,
    )  # fmt: skip
    waiting = Invitation.objects.filter(taken_at=None, withdrawn_at=None, expires_at__gt=now)
    return waiting.filter(Exists(givers), token_digest=digest(token))


def _checked_address(asked: Asked) -> str:
    email = asked.email.strip().lower()
    try:
        validate_email(email)
    except ValidationError:
        said = _("This is not an e-mail address.")
        raise BadInput(said, errors=[FieldError("email", said, read=email[:254], example="name@example.com")]) from None
    if len(email) > 254 or asked.language not in dict(settings.LANGUAGES):
        said = _("This can't be taken. Choose from the list.")
        raise BadInput(said, errors=[FieldError("language", said)])
    return email


def _waiting(rows: Any) -> Invitation:
    row: Invitation | None = rows.select_for_update().filter(taken_at=None, withdrawn_at=None).first()
    if row is None:
        raise Conflict(_("This invitation was taken up or withdrawn already. Nothing was changed."))
    return row


def _join(
    site_id: Any, person: Person, given: tuple[str, Company, list[str]], who: Person, now: datetime
) -> Membership:
    role, company, trades = given
    membership = Membership.objects.create(
        site_id=site_id, person=person, company=company, role=role, trades=trades, began_at=now
    )
    record_change(
        site=site_id, who=who, now=now, kind=Kind.PERSON, act=Act.ADDED, about=person,
        differences=_told(role, company, trades),
    )  # fmt: skip
    return membership


def _told(role: str, company: Company, trades: list[str]) -> dict[str, tuple[Any, Any]]:
    return {"role": ("", role), "company": ("", company), "trades": ("", trades)}
