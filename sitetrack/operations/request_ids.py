"""A name for every request, in its answer and in each log line written for it; and one line when it is answered."""

import logging
import re
import time
from collections.abc import Callable
from contextvars import ContextVar

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from sitetrack.kit.ids import new_id
from sitetrack.kit.tally import REQUESTS

HEADER = "X-Request-ID"
ACCEPTED = re.compile(r"[A-Za-z0-9._-]{8,64}\Z")
UNROUTED = "(no such address)"

current_request_id: ContextVar[str] = ContextVar("current_request_id", default="")
log = logging.getLogger("sitetrack.requests")

View = Callable[[HttpRequest], HttpResponse]


def request_names(get_response: View) -> View:
    """Middleware, outermost: what it times is all that the person waited for."""

    def answer(request: HttpRequest) -> HttpResponse:
        name = _name(request)
        before = current_request_id.set(name)
        began = time.perf_counter()
        try:
            response = get_response(request)
            took = time.perf_counter() - began
            route = request.resolver_match.route if request.resolver_match else UNROUTED
            response[HEADER] = name
            REQUESTS.labels(route, request.method or "", str(response.status_code)).observe(took)
            # The route, not the address; no person, no query: a log is kept longer and read by more than a record is.
            told = {"route": route, "method": request.method, "status": response.status_code, "ms": round(took * 1000)}
            log.info("answered", extra=told)
            return response
        finally:
            current_request_id.reset(before)

    return answer


def _name(request: HttpRequest) -> str:
    """The name a proxy of ours gave it, or a new one; what a stranger sends is no name of ours."""
    given = request.headers.get(HEADER, "")
    trusted = settings.AXES_IPWARE_PROXY_COUNT > 0  # one setting, NUM_PROXIES, fills this too
    return given if trusted and ACCEPTED.match(given) else str(new_id())
