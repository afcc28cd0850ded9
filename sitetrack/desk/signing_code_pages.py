"""A person sets their own signing code, with which they sign on another's phone."""

from typing import Any

from django.contrib import messages
from django.contrib.auth import authenticate
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from sitetrack.access.services.signing_code import LEAST_DIGITS, MOST_DIGITS, set_signing_code
from sitetrack.desk.setup import SIGNING
from sitetrack.kit.clock import now
from sitetrack.kit.problems import Problem


@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def signing_code(request: HttpRequest) -> HttpResponse:
    """A new code in place of the old one; asks for the password, since a screen may have been left open."""
    if request.method != "POST":
        return _page(request)
    person: Any = request.user
    code = request.POST.get("code", "")
    if authenticate(request, username=person.email, password=request.POST.get("password", "")) != person:
        return _page(request, _("This is not your password."), status=422)
    if code.strip() != request.POST.get("again", "").strip():
        return _page(request, _("The two are not the same. Type the code twice."), status=422)
    try:
        set_signing_code(person=person, code=code, now=now())
    except Problem as problem:
        return _page(request, problem.detail, status=problem.status)
    messages.success(
        request, _("Your signing code is set. Phones learn that you can sign when they next have a signal.")
    )
    return redirect("setup:signing-code")


def _page(request: HttpRequest, refused: str = "", *, status: int = 200) -> HttpResponse:
    person: Any = request.user
    context = {
        "sheet": SIGNING,
        "has_code": bool(person.signing_code),
        "refused": refused,
        "least": LEAST_DIGITS,
        "most": MOST_DIGITS,
    }
    return render(request, "desk/signing_code.html", context, status=status)
