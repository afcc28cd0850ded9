"""Enrolling a phone or a program: a code is shown, used once, and becomes a token that is shown once."""

import hashlib
import secrets
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from sitetrack.access.models import Device, EnrolmentCode, Membership, Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.services.trail import record_change
from sitetrack.kit.problems import BadInput, FieldError

CODE_LIFE = timedelta(minutes=15)
CODE_LETTERS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"  # none that a cold hand mistakes for another
CODE_LENGTH = 10
# A token that was not used for so long is not good any more: a phone left in a drawer, a program forgotten. A phone may
# be offline for 30 days and longer; what it holds then is sent once it is let in again.
TOKEN_IDLE_LIFE = timedelta(days=90)
SEEN_EVERY = timedelta(minutes=5)  # a row is not written for every pull
TOKEN_PREFIX = "st_"  # noqa: S105 - a mark that lets a leaked token be recognised, not a secret


def digest(secret: str) -> str:
    """SHA-256 of a high-entropy secret; a slow hash would add nothing to 256 random bits."""
    return hashlib.sha256(secret.encode()).hexdigest()


@transaction.atomic
def make_enrolment_code(*, site_id: Any, person: Person, who: Person, now: datetime) -> str:
    """A code for `person`'s phone on a site, good for 15 minutes and one use. Shown now, never again.

    Raises `Forbidden` for all but supervisors of the site, `BadInput` where the person has no role there.
    """
    must(who, site_id, Right.MANAGE_PHONES)
    if not Membership.objects.filter(site=site_id, person=person, ended_at=None).exists():
        said = _("This person has no role on the site; give them one first.")
        raise BadInput(
            said, errors=[FieldError("person", said, read=str(person.pk), expected=_("someone of the site"))]
        )
    code = "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))
    EnrolmentCode.objects.create(
        site_id=site_id, person=person, made_by=who, code_digest=digest(code), expires_at=now + CODE_LIFE
    )
    record_change(
        site=site_id, who=who, now=now, kind=Kind.PHONE, act=Act.ADDED, about=str(person),
        differences={"code until": ("", (now + CODE_LIFE).isoformat(timespec="seconds"))},
    )  # fmt: skip
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
        .filter(code_digest=digest("".join(code.split()).upper()), device=None, expires_at__gt=now)
        .first()
    )
    if found is None:
        raise BadInput(
            _("This code is not good: it may have been used, or be older than 15 minutes. Ask for a new one."),
            errors=[FieldError("code", "not a code that can be used now", read=code[:20], expected="a fresh code")],
        )
    device, token = issue_token(
        site_id=found.site_id, person=found.person, name=name, kind=Device.Kind.PHONE, who=found.person, now=now
    )
    found.device = device
    found.save(update_fields=["device"])
    return device, token


@transaction.atomic
def issue_token(
    *, site_id: Any, person: Person, name: str, kind: str, now: datetime, who: Person | None = None
) -> tuple[Device, str]:
    """A device with its token; the token is returned this once and kept only as a digest.

    `who` is None where whoever keeps the server issues it.
    """
    token = TOKEN_PREFIX + secrets.token_urlsafe(32)
    device = Device.objects.create(
        site_id=site_id, person=person, name=name, kind=kind, token_digest=digest(token), enrolled_at=now
    )
    record_change(
        site=site_id, who=who, now=now, kind=Kind.PHONE, act=Act.ADDED, about=device,
        differences={"person": ("", person), "kind": ("", kind)},
    )  # fmt: skip
    return device, token


@transaction.atomic
def revoke_device(*, device: Device, who: Person, now: datetime) -> Device:
    """Stop a device's token. What it sent stays; doing it again changes nothing.

    Raises `Forbidden` for all but supervisors of its site.
    """
    must(who, device.site_id, Right.MANAGE_PHONES)
    stop_devices(devices=[device], who=who, now=now)
    return device


@transaction.atomic
def stop_devices(*, devices: list[Device], who: Person | None, now: datetime) -> None:
    """Stop those of the devices that are not stopped yet; the caller knows that `who` may."""
    for device in devices:
        if device.revoked_at is None:
            device.revoked_at = now
            device.save(update_fields=["revoked_at"])
            record_change(
                site=device.site_id, who=who, now=now, kind=Kind.PHONE, act=Act.STOPPED, about=device,
                differences={"person": (device.person, "")},
            )  # fmt: skip


def device_of_token(*, token: str, now: datetime) -> Device | None:
    """The device of a token that is good now, noted as seen; None for one unknown, stopped, or unused for too long."""
    found = (
        Device.objects.select_related("person")
        .filter(token_digest=digest(token), revoked_at=None, person__is_active=True)
        .first()
    )
    if found is None or now - (found.last_seen_at or found.enrolled_at) > TOKEN_IDLE_LIFE:
        return None
    if found.last_seen_at is None or now - found.last_seen_at >= SEEN_EVERY:
        found.last_seen_at = now
        Device.objects.filter(pk=found.pk).update(last_seen_at=now)
    return found
