"""A forgotten password: a link by mail, good for an hour and once. Nobody learns by it whether an address is known."""

from datetime import datetime
from uuid import UUID

from django.contrib.auth.tokens import default_token_generator
from django.db import transaction
from django.utils.translation import gettext as _

from sitetrack.access.models import Person
from sitetrack.access.services.passwords import set_password
from sitetrack.access.services.tries import (
    PASSWORD_MAIL_FROM,
    PASSWORD_MAIL_TO,
    count_try,
    must_not_wait,
    waits_until,
)
from sitetrack.kit.problems import NotFound


@transaction.atomic
def ask_new_password(*, email: str, address: str, now: datetime) -> Person | None:
    """Whom to mail a link; None where nobody has this e-mail address, or was mailed too often just now.

    Both look the same from outside. Raises `TooManyTries` for one network `address` that asks for too many.
    """
    must_not_wait(PASSWORD_MAIL_FROM, address, now)
    count_try(PASSWORD_MAIL_FROM, address, now)
    person = Person.objects.filter(email__iexact=email.strip(), is_active=True).first()
    whose = str(person.pk) if person else "nobody"
    waits = waits_until(PASSWORD_MAIL_TO, whose, now)
    if person is None or waits:
        return None
    count_try(PASSWORD_MAIL_TO, whose, now)
    return person


def new_password_key(person: Person) -> str:
    """What proves the mail arrived: spoilt by the next sign-in, by another password, and by an hour."""
    return default_token_generator.make_token(person)


def whose_new_password(*, person_id: UUID, key: str) -> Person | None:
    """The person of a link that is good now; one used, too old or invented is not told apart."""
    person = Person.objects.filter(pk=person_id, is_active=True).first()
    return person if person is not None and default_token_generator.check_token(person, key) else None


@transaction.atomic
def take_new_password(*, person_id: UUID, key: str, password: str, now: datetime) -> Person:
    """Set the password of a link's person and end their sessions; one-time codes stay on.

    Raises `NotFound` for a link that is not good, `BadInput` with what is wrong with the password.
    """
    # The lock makes one of two at once find the link used.
    list(Person.objects.select_for_update(no_key=True).filter(pk=person_id))
    person = whose_new_password(person_id=person_id, key=key)
    if person is None:
        raise NotFound(_("This link is not good any more. Ask for a new one."))
    return set_password(person=person, password=password, who=person, now=now)
