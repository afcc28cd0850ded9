"""Signing in and out, and the list of one's sites."""

from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_required
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from openings.models import Site
from sitetrack.access.models import Membership
from sitetrack.desk.language import COOKIE, remember
from sitetrack.desk.sheets import SIGN_IN, SITES

MOST_SITES = 200


class SignIn(LoginView):
    """Signing in by e-mail address."""

    template_name = "desk/sign_in.html"
    redirect_authenticated_user = True
    extra_context = {"sheet": SIGN_IN}

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """Go on in the person's own language where nobody chose one at this browser."""
        response = super().form_valid(form)
        language = form.get_user().language
        if language != settings.LANGUAGE_CODE and COOKIE not in self.request.COOKIES:
            remember(response, language)
        return response


class SignOut(LogoutView):
    """Signing out; a POST, so that no link or picture can do it."""


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
