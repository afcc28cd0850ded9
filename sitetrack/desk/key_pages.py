"""The keys of the desk, as a page for those without script."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from sitetrack.desk.sheets import KEYS


@require_safe
def keys(request: HttpRequest) -> HttpResponse:
    """What each key does; the same list as in the dialog, and nothing of any site."""
    return render(request, "desk/keys.html", {"sheet": KEYS})
