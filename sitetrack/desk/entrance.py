"""Signing in and out, and the list of one's sites."""

from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.contrib.auth.decorators import login_required
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render, resolve_url
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_safe

from openings.models import Site
from sitetrack.access.models import Membership
from sitetrack.access.services.codes import Proof, has_codes, prove_code
from sitetrack.access.services.sessions import forget_session
from sitetrack.desk.language import COOKIE, remember
from sitetrack.desk.sheets import SIGN_IN, SITES
from sitetrack.desk.signing_in import enter, wait_for_code, who_waits
from sitetrack.kit.clock import now

MOST_SITES = 200


class SignIn(LoginView):
    """Signing in by e-mail address and password."""

    template_name = "desk/sign_in.html"
    redirect_authenticated_user = True
    extra_context = {"sheet": SIGN_IN}

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """In, or on to the code where this person has one; in the person's own language where nobody chose one."""
        person: Any = form.get_user()
        if has_codes(person):
            wait_for_code(self.request, person)
            asked = urlencode({"next": self.get_redirect_url()}) if self.get_redirect_url() else ""
            return redirect(f"{reverse('desk:sign-in-code')}?{asked}".rstrip("?"))
        enter(self.request, person, by_code=False)
        return in_own_language(self.request, HttpResponseRedirect(self.get_success_url()), person.language)


class SignOut(LogoutView):
    """Signing out; a POST, so that no link or picture can do it."""

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        forget_session(session_key=request.session.session_key or "")
        answer: HttpResponse = super().post(request, *args, **kwargs)
        return answer


@sensitive_post_parameters()
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in_code(request: HttpRequest) -> HttpResponse:
    """The second step: the code that the authenticator shows now, or one of the recovery codes."""
    person = who_waits(request)
    if person is None:
        return redirect("desk:sign-in")
    asked = request.POST.get("next", "") or request.GET.get("next", "")
    context: dict[str, Any] = {"sheet": SIGN_IN, "next": asked}
    if request.method != "POST":
        return render(request, "desk/sign_in_code.html", context)
    proof = prove_code(person=person, code=request.POST.get("code", "")[:100], now=now())
    if proof is Proof.RIGHT:
        enter(request, person, by_code=True)
        return in_own_language(request, HttpResponseRedirect(safe_next(request, asked)), person.language)
    context["refused"] = (
        _("This code does not fit. Wait for the next one and type that, or use a recovery code.")
        if proof is Proof.WRONG
        else _("Too many wrong codes. Wait a quarter of an hour, then try again.")
    )
    return render(request, "desk/sign_in_code.html", context, status=422 if proof is Proof.WRONG else 429)


def admin_door(request: HttpRequest) -> HttpResponse:
    """The admin has no door of its own: whoever comes to it signs in as everyone does, by code where there is one."""
    if request.user.is_authenticated:
        raise PermissionDenied
    return redirect(f"{reverse('desk:sign-in')}?{urlencode({'next': request.GET.get('next', reverse('admin:index'))})}")


def safe_next(request: HttpRequest, asked: str) -> str:
    """Where to go on: the address asked for if it is on this server, else the list of sites."""
    here = url_has_allowed_host_and_scheme(asked, allowed_hosts={request.get_host()}, require_https=request.is_secure())
    return asked if asked and here else resolve_url(settings.LOGIN_REDIRECT_URL)


def in_own_language(request: HttpRequest, response: HttpResponse, language: str) -> HttpResponse:
    """Go on in the person's own language where nobody chose one at this browser."""
    if language != settings.LANGUAGE_CODE and COOKIE not in request.COOKIES:
        remember(response, language)
    return response


@login_required
@require_safe
def sites(request: HttpRequest) -> HttpResponse:
    """The person's sites; whoever has one only goes straight to it."""
    person: Any = request.user
    own = Site.objects.visible_to(person)
    standing = {
        m.site_id: m
        for m in Membership.objects.filter(person=person, ended_at=None).select_related("company")[:MOST_SITES]
    }
    listed = [(site, standing[site.pk]) for site in own[:MOST_SITES] if site.pk in standing]
    if len(listed) == 1 and "all" not in request.GET:
        return redirect("desk:today", code=listed[0][0].code)
    return render(request, "desk/sites.html", {"sheet": SITES, "listed": listed})
