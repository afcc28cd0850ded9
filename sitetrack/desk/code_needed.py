"""Where a site asks its supervisors for one-time codes, nothing opens to them before one was given.

One place for pages, API and admin alike, so that no new address can be forgotten. Phones' tokens are let in by a
supervisor and pass by here. A session that gave a code costs nothing more; for others it is one question.
"""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import resolve, reverse
from django.utils.translation import gettext as _

from sitetrack.access.models import Membership
from sitetrack.access.roles import Role
from sitetrack.access.services.sessions import SEEN_EVERY, note_seen
from sitetrack.desk.signing_in import gave_code
from sitetrack.kit.answers import plain_problem
from sitetrack.kit.clock import from_ms, now, to_ms

# Where a code is set up, and the way out.
OPEN = {"desk:account", "desk:codes", "desk:sign-out", "desk:sign-in", "desk:sign-in-code"}
SEEN = "seen"


class CodeNeededMiddleware:
    """Sends whoever owes a code to where it is set up, and notes now and then that a session is in use."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> HttpResponse | None:
        """Runs once the address is known; a request without a session asks nothing of the data base here."""
        if not request.session.session_key or not request.user.is_authenticated:
            return None
        _note_use(request)
        if gave_code(request) or resolve(request.path_info).view_name in OPEN or not owes_code(request.user):
            return None
        said = _("A site you supervise asks for one-time codes. Turn them on under your account.")
        if request.path_info.startswith("/api/"):
            return plain_problem(request, 403, "code-needed", said)
        return redirect(f"{reverse('desk:codes')}?needed=1")


def owes_code(person: Any) -> bool:
    """Whether a site that the person supervises asks for codes."""
    return Membership.objects.filter(
        person_id=person.pk, role=Role.SUPERVISOR, ended_at=None, site__supervisors_need_codes=True
    ).exists()


def _note_use(request: HttpRequest) -> None:
    moment, seen = now(), request.session.get(SEEN)
    if seen is None:
        request.session[SEEN] = to_ms(moment)
    elif moment - from_ms(seen) >= SEEN_EVERY:
        request.session[SEEN] = to_ms(moment)
        note_seen(session_key=str(request.session.session_key), now=moment)
