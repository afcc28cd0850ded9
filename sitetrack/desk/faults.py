"""What is shown where there is no sheet to show: nothing at the address, not one's own, a form too old to send."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from sitetrack.desk.sheets import Sheet

NOTHING = Sheet("F-0", gettext_lazy("Nothing here"))
NOT_YOURS = Sheet("F-0", gettext_lazy("Not yours to see"))
TOO_OLD = Sheet("F-0", gettext_lazy("Not sent"))


def nothing_here(request: HttpRequest, exception: Exception) -> HttpResponse:
    """No such address, opening, floor or file, or none that this person may see."""
    said = _(
        "There is nothing at this address that you may see. An opening may have another number, a file may have been "
        "taken in or let go. Look for it from your sites."
    )
    return _told(request, NOTHING, said, 404)


def not_yours(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Something this person may not do."""
    return _told(request, NOT_YOURS, _("This is not yours to do on this site. Its supervisor can change that."), 403)


def form_too_old(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form whose token no longer fits, such as one left open while somebody else signed in."""
    said = _("Nothing was sent: the page was too old, or the browser keeps no cookies. Open it again and send it anew.")
    return _told(request, TOO_OLD, said, 403)


def _told(request: HttpRequest, sheet: Sheet, said: str, status: int) -> HttpResponse:
    return render(request, "desk/fault.html", {"sheet": sheet, "said": said}, status=status)
