"""One-time codes of an authenticator (RFC 6238), and the recovery codes for the day it is lost.

Six digits, a new one every 30 seconds, SHA-1: what every authenticator can. The code of the step before and after is
taken as well, since clocks differ (RFC 6238, 5.2), and no code is taken twice.
"""

import secrets
from base64 import b32encode
from binascii import unhexlify
from datetime import datetime
from enum import StrEnum
from urllib.parse import quote, urlencode

from django.db import transaction
from django.utils.translation import gettext as _
from django_otp.oath import TOTP

from sitetrack.access.models import CodeKey, Person, RecoveryCode
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.services.enrolment import CODE_LETTERS, digest
from sitetrack.access.services.trail import record_change
from sitetrack.access.services.tries import (
    CODE_OF_PERSON,
    CODE_OF_PERSON_A_DAY,
    count_try,
    forget_tries,
    waits_until,
)
from sitetrack.kit.problems import BadInput, Conflict, FieldError

ISSUER = "Sitetrack"
DIGITS = 6
SECONDS = 30
TOLERANCE = 1  # steps
SECRET_BYTES = 20  # RFC 4226, R6: at least 128 bits, 160 recommended
RECOVERY_CODES = 10
RECOVERY_LENGTH = 16


class Proof(StrEnum):
    """What came of a code that was given."""

    RIGHT = "right"
    WRONG = "wrong"
    WAIT = "wait"


def has_codes(person: Person) -> bool:
    """Whether this person signs in with a code as well."""
    return CodeKey.objects.filter(person=person, confirmed_at__isnull=False).exists()


@transaction.atomic
def begin_codes(*, person: Person, now: datetime) -> CodeKey:
    """A new secret to be scanned; it counts for nothing until a code made from it is given back.

    Raises `Conflict` where codes are on already: the old secret is dropped first, by giving a code.
    """
    key, _made = CodeKey.objects.select_for_update().get_or_create(
        person=person, defaults={"secret": secrets.token_hex(SECRET_BYTES), "made_at": now}
    )
    if key.confirmed_at:
        raise Conflict(_("One-time codes are on already. Turn them off first."))
    return key


@transaction.atomic
def confirm_codes(*, person: Person, code: str, now: datetime) -> list[str]:
    """Turn codes on, proved by the first code; gives the recovery codes, shown this once. Raises `BadInput`."""
    key = CodeKey.objects.select_for_update().filter(person=person, confirmed_at=None).first()
    step = _fitting_step(key, code, now) if key else None
    if key is None or step is None:
        said = _("This code does not fit. Check the clock of the phone, wait for the next code and type that one.")
        raise BadInput(said, errors=[FieldError("code", said, expected=_("the six digits shown now"))])
    key.confirmed_at, key.last_step = now, step
    key.save(update_fields=["confirmed_at", "last_step"])
    _told(person, now, Act.ADDED, person)
    return _make_recovery_codes(person)


@transaction.atomic
def prove_code(*, person: Person, code: str, now: datetime) -> Proof:
    """Check a one-time or recovery code and count the try; a right one is used up. Wrong ones soon have to wait.

    Gives back what came of it rather than raising, so that the count is kept. The person's row is locked, so that
    guesses sent side by side are counted one after another and one code is not taken by two of them.
    """
    Person.objects.select_for_update(no_key=True).get(pk=person.pk)
    whose = str(person.pk)
    if any(waits_until(patience, whose, now) for patience in (CODE_OF_PERSON, CODE_OF_PERSON_A_DAY)):
        return Proof.WAIT
    if not (_takes_step(person, code, now) or _takes_recovery_code(person, code, now)):
        count_try(CODE_OF_PERSON, whose, now)
        count_try(CODE_OF_PERSON_A_DAY, whose, now)
        return Proof.WRONG
    forget_tries(CODE_OF_PERSON, whose)
    return Proof.RIGHT


@transaction.atomic
def drop_codes(*, person: Person, who: Person | None, now: datetime) -> None:
    """Turn codes off; nothing happens where they are not on. Whoever calls has had the person prove who they are.

    `who` is None where whoever keeps the server does it.
    """
    RecoveryCode.objects.filter(person=person).delete()
    dropped = CodeKey.objects.filter(person=person, confirmed_at__isnull=False).exists()
    CodeKey.objects.filter(person=person).delete()
    if dropped:
        _told(person, now, Act.REMOVED, who)


@transaction.atomic
def renew_recovery_codes(*, person: Person, now: datetime) -> list[str]:
    """New recovery codes in place of the old; shown this once."""
    record_change(
        site=None, who=person, now=now, kind=Kind.ACCOUNT, act=Act.CHANGED, about=person,
        differences={"recovery codes": ("", "new")},
    )  # fmt: skip
    return _make_recovery_codes(person)


def address_of(key: CodeKey) -> str:
    """What the authenticator scans: the key URI that authenticators have in common."""
    label = quote(f"{ISSUER}:{key.person.email}")
    asked = {"secret": typed_secret(key), "issuer": ISSUER, "algorithm": "SHA1", "digits": DIGITS, "period": SECONDS}
    return f"otpauth://totp/{label}?{urlencode(asked)}"


def typed_secret(key: CodeKey) -> str:
    """The secret in base 32, for typing where nothing can be scanned."""
    return b32encode(unhexlify(key.secret)).decode().rstrip("=")


def _fitting_step(key: CodeKey, code: str, now: datetime) -> int | None:
    """The time step whose code this is, later than the last one taken; None for none."""
    digits = "".join(code.split())
    if not (digits.isascii() and digits.isdigit() and len(digits) == DIGITS):
        return None
    clock = TOTP(unhexlify(key.secret), step=SECONDS, digits=DIGITS)
    clock.time = now.timestamp()
    return int(clock.t()) if clock.verify(int(digits), TOLERANCE, key.last_step + 1) else None


def _takes_step(person: Person, code: str, now: datetime) -> bool:
    key = CodeKey.objects.filter(person=person, confirmed_at__isnull=False).first()
    step = _fitting_step(key, code, now) if key else None
    if step is None:
        return False
    return bool(CodeKey.objects.filter(person=person, last_step__lt=step).update(last_step=step))


def _takes_recovery_code(person: Person, code: str, now: datetime) -> bool:
    spelled = "".join(code.split()).replace("-", "").upper()
    if len(spelled) != RECOVERY_LENGTH:
        return False
    unused = RecoveryCode.objects.filter(person=person, digest=digest(spelled), used_at=None)
    return bool(unused.update(used_at=now))


def _make_recovery_codes(person: Person) -> list[str]:
    codes = ["".join(secrets.choice(CODE_LETTERS) for _ in range(RECOVERY_LENGTH)) for _ in range(RECOVERY_CODES)]
    RecoveryCode.objects.filter(person=person).delete()
    RecoveryCode.objects.bulk_create(RecoveryCode(person=person, digest=digest(code)) for code in codes)
    return ["-".join(code[at : at + 4] for at in range(0, RECOVERY_LENGTH, 4)) for code in codes]


def _told(person: Person, now: datetime, act: Act, who: Person | None) -> None:
    record_change(
        site=None, who=who, now=now, kind=Kind.ACCOUNT, act=act, about=person,
        differences={"one-time codes": ("", "on") if act is Act.ADDED else ("on", "")},
    )  # fmt: skip
