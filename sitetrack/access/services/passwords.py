"""A person's password, by the rules of NIST SP 800-63B: length and a list of common ones; nothing of composition."""

from datetime import datetime

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.services.sessions import end_sessions
from sitetrack.access.services.trail import record_change
from sitetrack.kit.problems import BadInput, FieldError


@transaction.atomic
def set_password(*, person: Person, password: str, who: Person, now: datetime, keep: str = "") -> Person:
    """Give a person a new password and end their sessions but `keep`; raises `BadInput` naming what is wrong with it.

    What was typed is not repeated in the refusal: an answer may be kept where others read it.
    """
    check_password_rules(password, person)
    person.set_password(password)
    person.save(update_fields=["password"])
    end_sessions(person=person, keep=keep)
    record_change(
        site=None, who=who, now=now, kind=Kind.ACCOUNT, act=Act.CHANGED, about=person,
        differences={"password": ("", "set")},
    )  # fmt: skip
    return person


def check_password_rules(password: str, person: Person) -> None:
    """Raise `BadInput` with every rule that the password does not keep."""
    try:
        validate_password(password, person)
    except ValidationError as error:
        raise BadInput(
            " ".join(error.messages), errors=[FieldError("password", message) for message in error.messages]
        ) from None
