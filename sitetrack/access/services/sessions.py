"""Where a person is signed in, and signing out from afar."""

from datetime import datetime, timedelta
from importlib import import_module

from django.conf import settings
from django.db import transaction
from django.db.models import F

from sitetrack.access.models import Person, SignedIn
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.services.trail import record_change

SEEN_EVERY = timedelta(minutes=10)  # a row is not written for every page
SHOWN_MOST = 100
SessionStore = import_module(settings.SESSION_ENGINE).SessionStore


@transaction.atomic
def note_signed_in(*, person: Person, session_key: str, browser: str, address: str, now: datetime) -> SignedIn:
    """Note a new session in the person's list; rows whose session ran out long since go."""
    gone = now - timedelta(seconds=settings.SESSION_COOKIE_AGE)
    SignedIn.objects.filter(person=person, began_at__lt=gone).delete()
    return SignedIn.objects.create(
        person=person, session_key=session_key, browser=browser[:200], address=address[:45], began_at=now, seen_at=now
    )


def note_seen(*, session_key: str, now: datetime) -> None:
    """Note that a session is in use."""
    SignedIn.objects.filter(session_key=session_key).update(seen_at=now)


def note_new_key(*, old: str, new: str) -> None:
    """A session goes on under another key, as after a change of the password."""
    SignedIn.objects.filter(session_key=old).update(session_key=new)


def forget_session(*, session_key: str) -> None:
    """Someone signed out here."""
    SignedIn.objects.filter(session_key=session_key).delete()


@transaction.atomic
def sign_out_one(*, person: Person, row: SignedIn, now: datetime) -> None:
    """End one session of the person's own."""
    SessionStore().delete(row.session_key)
    row.delete()
    record_change(
        site=None, who=person, now=now, kind=Kind.ACCOUNT, act=Act.SIGNED_OUT, about=person,
        differences={"browser": (row.browser, "")},
    )  # fmt: skip


@transaction.atomic
def end_sessions(*, person: Person, keep: str = "") -> None:
    """End every session of a person, listed or not; the one to keep is given a new hash by whoever holds it."""
    Person.objects.filter(pk=person.pk).update(session_round=F("session_round") + 1)
    person.refresh_from_db(fields=["session_round"])
    others = SignedIn.objects.filter(person=person).exclude(session_key=keep)
    for key in others.values_list("session_key", flat=True):
        SessionStore().delete(key)
    others.delete()


@transaction.atomic
def sign_out_everywhere(*, person: Person, keep: str, now: datetime) -> None:
    """End every session but the one at hand."""
    end_sessions(person=person, keep=keep)
    record_change(
        site=None, who=person, now=now, kind=Kind.ACCOUNT, act=Act.SIGNED_OUT, about=person,
        differences={"browser": ("all others", "")},
    )  # fmt: skip
