"""What is shown where there is no sheet to show: nothing at the address, not one's own, a form too old to send."""

import sys

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import render
from django.template.loader import get_template
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.defaults import server_error

from sitetrack.desk.sheets import Sheet
from sitetrack.kit.answers import DATABASE_AWAY, plain_problem, wait_while_away
from sitetrack.kit.problems import Away

NOTHING = Sheet("F-0", gettext_lazy("Nothing here"))
NOT_YOURS = Sheet("F-0", gettext_lazy("Not yours to see"))
TOO_OLD = Sheet("F-0", gettext_lazy("Not sent"))


def nothing_here(request: HttpRequest, exception: Exception) -> HttpResponse:
    """No such address, opening, floor or file, or none that this person may see."""
    if _is_api(request):
        return plain_problem(request, 404, "not-found", f"There is no {request.path} here.")
    said = _(
        "There is nothing at this address that you may see. An opening may have another number, a file may have been "
        "taken in or let go. Look for it from your sites."
    )
    return _told(request, NOTHING, said, 404)


def not_yours(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Something this person may not do."""
    if _is_api(request):
        return plain_problem(request, 403, "forbidden", _("This is not yours to do."))
    return _told(request, NOT_YOURS, _("This is not yours to do on this site. Its supervisor can change that."), 403)


def form_too_old(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form whose token no longer fits, such as one left open while somebody else signed in."""
    said = _("Nothing was sent: the page was too old, or the browser keeps no cookies. Open it again and send it anew.")
    return _told(request, TOO_OLD, said, 403)


def not_understood(request: HttpRequest, exception: Exception) -> HttpResponse:
    """A request that no browser sends by itself: a host that is not ours, a cookie or a form made up."""
    said = "This request can't be understood."
    if _is_api(request):
        return plain_problem(request, 400, "bad-request", said)
    return HttpResponseBadRequest(said, content_type="text/plain; charset=utf-8")


def broken(request: HttpRequest) -> HttpResponse:
    """A fault of ours, told without its insides and without asking anything of what may be broken."""
    if isinstance(sys.exception(), DATABASE_AWAY):
        return _away(request)
    if _is_api(request):
        return plain_problem(request, 500, "fault", "It was noted. Try again, and tell us if it stays.")
    return server_error(request)


def _away(request: HttpRequest) -> HttpResponse:
    """The data base is away for a moment. A page that asks it for nothing says so."""
    if _is_api(request):
        response: HttpResponse = plain_problem(request, Away.status, Away.code, str(Away()))
    else:
        response = HttpResponse(get_template("503.html").render(), status=Away.status)
    response["Retry-After"] = wait_while_away()
    return response


def _is_api(request: HttpRequest) -> bool:
    return request.path_info.startswith("/api/")


def _told(request: HttpRequest, sheet: Sheet, said: str, status: int) -> HttpResponse:
    return render(request, "desk/fault.html", {"sheet": sheet, "said": said}, status=status)
