"""Sheet F-11: the settings of the site, with what follows from changing each."""

from typing import Any

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from inspections.services.site_settings import settle_site
from openings.services.sites import found_site
from sitetrack.desk.form_undo import undo_by_form
from sitetrack.desk.setup import NEW_SITE, SITE, is_supervisor
from sitetrack.desk.sheets import Desk, draw, site_page
from sitetrack.desk.site_form import NewSiteForm, SiteForm
from sitetrack.desk.told import told
from sitetrack.kit.clock import now as read_clock
from sitetrack.kit.problems import Forbidden, Problem


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def site(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The settings as they stand; the supervisor changes them."""
    form = SiteForm(request.POST if request.method == "POST" else None, site=desk.site)
    before, status = dict(form.initial), 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            try:
                settle_site(site=desk.site, settings=form.cleaned_data, who=desk.person, now=desk.now)
            except Forbidden as problem:
                form.refuse(problem)
                status = problem.status
            except Problem as problem:
                form.refuse(problem)
            else:
                if form.has_changed():
                    told(request, _("The settings are kept."), undo=undo_by_form(request.path, form, before))
                else:
                    told(request, _("Nothing was changed."))
                return redirect("setup:site", code=desk.site.code)
    context = {"form": form, "manages": is_supervisor(desk)}
    return draw(request, desk, SITE, "desk/site.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def new_site(request: HttpRequest) -> HttpResponse:
    """A site made by whoever keeps the server, with its shipped plans and its first supervisor."""
    person: Any = request.user
    if not person.is_staff:
        raise Http404("Sites are made by those who keep the server.")
    form = NewSiteForm(request.POST if request.method == "POST" else None, address=person.email)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            made = found_site(
                facts=form.facts(),
                company=given["company"],
                supervisor=given["supervisor"],
                who=person,
                now=read_clock(),
            )
        except Problem as problem:
            form.refuse(problem)
        else:
            told(request, _("%(site)s is there, with the shipped sequence plans.") % {"site": made.name})
            if made.memberships.filter(person=person, ended_at=None).exists():
                return redirect("desk:schedule", code=made.code)
            return redirect("desk:sites")
    context = {"sheet": NEW_SITE, "form": form}
    return render(request, "desk/site_new.html", context, status=422 if request.method == "POST" else 200)
