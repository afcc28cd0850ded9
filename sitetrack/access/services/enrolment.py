"""Enrolling a phone or a program: a code is shown, used once, and becomes a token that is shown once."""

import hashlib
import secrets
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from sitetrack.access.models import Device, EnrolmentCode, Person
from sitetrack.kit.problems import BadInput, FieldError

CODE_LIFE = timedelta(minutes=15)
CODE_LETTERS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"  # none that a cold hand mistakes for another
CODE_LENGTH = 10
TOKEN_PREFIX = "st_"  # noqa: S105 - a mark that lets a leaked token be recognised, not a secret


def digest(secret: str) -> str:
    """SHA-256 of a high-entropy secret; a slow hash would add nothing to 256 random bits."""
    return hashlib.sha256(secret.encode()).hexdigest()


@transaction.atomic
def make_enrolment_code(*, site_id: Any, person: Person, who: Person, now: datetime) -> str:
    """A code for `person`'s phone on a site, good for 15 minutes and one use. Shown now, never again."""
    code = "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))
    EnrolmentCode.objects.create(
        site_id=site_id, person=person, made_by=who, code_digest=digest(code), expires_at=now + CODE_LIFE
    )
    return code


@transaction.atomic
def enrol_device(*, code: str, name: str, now: datetime) -> tuple[Device, str]:
    """Use a code: the new device and its token, which is shown this once.

    Raises `BadInput` when the code is unknown, used or too old; the three are not told apart, so that guessing
    teaches nothing.
    """
    # The row lock closes the race of two phones using one code at once.
    found = (
        EnrolmentCode.objects.select_for_update()
        .filter(code_digest=digest(code.strip().upper()), device=None, expires_at__gt=now)
        .first()
    )
    if found is None:
        raise BadInput(
            "This code is not good: it may have been used, or be older than 15 minutes. Ask for a new one.",
            errors=[FieldError("code", "not a code that can be used now", read=code[:20], expected="a fresh code")],
        )
    device, token = issue_token(site_id=found.site_id, person=found.person, name=name, kind=Device.Kind.PHONE, now=now)
    found.device = device
    found.save(update_fields=["device"])
    return device, token


@transaction.atomic
def issue_token(*, site_id: Any, person: Person, name: str, kind: str, now: datetime) -> tuple[Device, str]:
    """A device with its token; the token is returned this once and kept only as a digest."""
    token = TOKEN_PREFIX + secrets.token_urlsafe(32)
    device = Device.objects.create(
        site_id=site_id, person=person, name=name, kind=kind, token_digest=digest(token), enrolled_at=now
    )
    return device, token


@transaction.atomic
def revoke_device(*, device: Device, now: datetime) -> Device:
    """Stop a device's token. What it sent stays; doing it again changes nothing."""
    if device.revoked_at is None:
        device.revoked_at = now
        device.save(update_fields=["revoked_at"])
    return device
