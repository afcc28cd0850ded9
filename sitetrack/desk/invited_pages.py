"""Pages for those not in yet: an invitation taken up, a forgotten password, a new one by a link from the mail."""

from typing import Any
from uuid import UUID

from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import get_language, gettext_lazy
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from sitetrack.access.models import Person
from sitetrack.access.services.forgotten import ask_new_password, take_new_password, whose_new_password
from sitetrack.access.services.invitations import NOT_GOOD, invitation_of, take_invitation
from sitetrack.access.services.tries import LINK_FROM, TooManyTries, count_try, must_not_wait
from sitetrack.desk.account_mails import new_password_mail, send_aside, sends_mail
from sitetrack.desk.sheets import Sheet
from sitetrack.desk.signing_in import address_of, enter
from sitetrack.desk.told import told
from sitetrack.kit.clock import now
from sitetrack.kit.problems import BadInput, NotFound, Problem

INVITED = Sheet("F-0", gettext_lazy("Invitation"))
FORGOTTEN = Sheet("F-0", gettext_lazy("Forgotten password"))
NEW_PASSWORD = Sheet("F-0", gettext_lazy("New password"))
LINK_NOT_GOOD = gettext_lazy("This link is not good any more. Ask for a new one.")
LONGEST_PASSWORD = 1000  # of what is looked at; the rules say how long one may be


@sensitive_post_parameters()
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def invited(request: HttpRequest, token: str) -> HttpResponse:
    """Look at an invitation, then take it: with name and password, or only the role where there is an account."""
    try:
        must_not_wait(LINK_FROM, address_of(request), now())
    except TooManyTries as problem:
        return _no_link(request, INVITED, problem)
    invitation = invitation_of(token=token, now=now())
    if invitation is None:
        count_try(LINK_FROM, address_of(request), now())
        return _no_link(request, INVITED, NotFound(str(NOT_GOOD)))
    known = Person.objects.filter(email__iexact=invitation.email).exists()
    context: dict[str, Any] = {"sheet": INVITED, "invitation": invitation, "known": known, "name": invitation.name}
    if request.method != "POST":
        return render(request, "desk/invited.html", context)
    context["name"] = request.POST.get("name", "")[:200]
    password = request.POST.get("password", "")[:LONGEST_PASSWORD]
    try:
        if not known:
            _must_agree(request)
        person = take_invitation(
            token=token, name=context["name"], password=password, language=get_language() or "en", now=now()
        )
    except Problem as problem:
        return render(request, "desk/invited.html", context | {"refused": problem}, status=problem.status)
    if known:
        # The link proves that the mail arrived; an account is entered by its own password only.
        told(request, _("You are on %(site)s now. Sign in as before.") % {"site": invitation.site})
        return redirect("desk:sites")
    enter(request, person, by_code=False)
    told(request, _("Welcome to %(site)s.") % {"site": invitation.site})
    return redirect("desk:today", code=invitation.site.code)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def forgotten(request: HttpRequest) -> HttpResponse:
    """Ask for a link; the answer is the same whether the address is known or not."""
    context: dict[str, Any] = {"sheet": FORGOTTEN, "sends": sends_mail()}
    if request.method != "POST" or not context["sends"]:
        return render(request, "desk/forgotten.html", context)
    try:
        person = ask_new_password(email=request.POST.get("email", "")[:254], address=address_of(request), now=now())
    except TooManyTries as problem:
        return render(request, "desk/forgotten.html", context | {"refused": problem}, status=problem.status)
    if person is not None:
        send_aside(new_password_mail(person))
    return render(request, "desk/forgotten.html", context | {"asked": True})


@sensitive_post_parameters()
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def new_password(request: HttpRequest, person_id: UUID, key: str) -> HttpResponse:
    """Choose a new password by the link of the mail; then sign in with it, by code where there is one."""
    if whose_new_password(person_id=person_id, key=key) is None:
        return _no_link(request, NEW_PASSWORD, NotFound(str(LINK_NOT_GOOD)))
    context: dict[str, Any] = {"sheet": NEW_PASSWORD}
    if request.method != "POST":
        return render(request, "desk/new_password.html", context)
    password = request.POST.get("password", "")[:LONGEST_PASSWORD]
    try:
        _must_agree(request)
        take_new_password(person_id=person_id, key=key, password=password, now=now())
    except Problem as problem:
        return render(request, "desk/new_password.html", context | {"refused": problem}, status=problem.status)
    logout(request)
    told(request, _("Your password is changed. Sign in with it."))
    return redirect("desk:sign-in")


def _must_agree(request: HttpRequest) -> None:
    if request.POST.get("password", "") != request.POST.get("again", ""):
        raise BadInput(_("The two are not the same. Type the new password twice."))


def _no_link(request: HttpRequest, sheet: Sheet, problem: Problem) -> HttpResponse:
    return render(request, "desk/link_not_good.html", {"sheet": sheet, "refused": problem}, status=problem.status)
