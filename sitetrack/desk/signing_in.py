"""How a browser gets in: a password, then a code where there is one; and what is remembered of the session."""

from datetime import timedelta

from axes.helpers import get_client_ip_address
from django.contrib.auth import login
from django.http import HttpRequest

from sitetrack.access.models import Person
from sitetrack.access.services.sessions import note_signed_in
from sitetrack.kit.clock import from_ms, now, to_ms

PENDING = "waits for a code"
PROVED = "code given"
PENDING_FOR = timedelta(minutes=5)
BACKEND = "django.contrib.auth.backends.ModelBackend"


def enter(request: HttpRequest, person: Person, *, by_code: bool) -> None:
    """Sign the person in at this browser; the session gets a new key, and a line in the person's list."""
    login(request, person, backend=BACKEND)
    request.session.pop(PENDING, None)
    request.session[PROVED] = by_code
    if request.session.session_key is None:
        request.session.save()
    note_signed_in(
        person=person,
        session_key=str(request.session.session_key),
        browser=request.headers.get("User-Agent", ""),
        address=address_of(request),
        now=now(),
    )


def wait_for_code(request: HttpRequest, person: Person) -> None:
    """Remember, for some minutes, whose password was right; nobody is signed in by that."""
    request.session.cycle_key()
    request.session[PENDING] = {"person": str(person.pk), "at": to_ms(now())}


def who_waits(request: HttpRequest) -> Person | None:
    """Whose password was right just now, if a code is still to be given."""
    pending = request.session.get(PENDING)
    if not pending or now() - from_ms(pending["at"]) > PENDING_FOR:
        return None
    return Person.objects.filter(pk=pending["person"], is_active=True).first()


def gave_code(request: HttpRequest) -> bool:
    """Whether this session was begun, or went on, with a one-time code."""
    return bool(request.session.get(PROVED))


def address_of(request: HttpRequest) -> str:
    """Where the request comes from, by no more proxies than are ours."""
    return str(get_client_ip_address(request) or "")
