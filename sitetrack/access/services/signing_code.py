"""A person's signing code: what they type on another's phone instead of signing by their own.

Short enough for gloves, so it is kept as a slow hash only, and guessing is stopped by whoever checks it.
"""

from datetime import datetime
from itertools import pairwise

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction

from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.services.trail import record_change
from sitetrack.kit.problems import BadInput, FieldError

LEAST_DIGITS = 6
MOST_DIGITS = 12


@transaction.atomic
def set_signing_code(*, person: Person, code: str, now: datetime) -> Person:
    """Give a person a new signing code in place of any old one; raises `BadInput` for one that is easily guessed."""
    code = code.strip()
    if fault := _fault(code):
        expected = f"{LEAST_DIGITS} to {MOST_DIGITS} digits that no one guesses"
        # What was typed is not repeated: an answer may be kept where others read it.
        raise BadInput(fault, errors=[FieldError("code", fault, expected=expected)])
    person.signing_code = make_password(code)
    person.save(update_fields=["signing_code"])
    record_change(
        site=None, who=person, now=now, kind=Kind.ACCOUNT, act=Act.CHANGED, about=person,
        differences={"signing code": ("", "set")},
    )  # fmt: skip
    return person


def signing_code_fits(person: Person, code: str) -> bool:
    """Whether this is the person's code; slow on purpose."""
    return bool(person.signing_code) and check_password(code.strip(), person.signing_code)


def _fault(code: str) -> str:
    if not (code.isascii() and code.isdigit() and LEAST_DIGITS <= len(code) <= MOST_DIGITS):
        return f"A signing code has {LEAST_DIGITS} to {MOST_DIGITS} digits and nothing else."
    steps = {(int(after) - int(before)) % 10 for before, after in pairwise(code)}
    if len(steps) == 1:
        return "Digits that only repeat or count up or down are the first that anyone tries. Choose others."
    return ""
