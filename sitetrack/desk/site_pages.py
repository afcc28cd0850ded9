"""Sheet F-11: the settings of the site, with what follows from changing each."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from inspections.services.site_settings import settle_site
from sitetrack.desk.setup import SITE, is_supervisor
from sitetrack.desk.sheets import Desk, draw, site_page
from sitetrack.desk.site_form import SiteForm
from sitetrack.desk.told import told
from sitetrack.kit.problems import Forbidden, Problem


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def site(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The settings as they stand; the supervisor changes them."""
    form = SiteForm(request.POST if request.method == "POST" else None, site=desk.site)
    status = 200
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
                told(request, _("The settings are kept.") if form.has_changed() else _("Nothing was changed."))
                return redirect("setup:site", code=desk.site.code)
    context = {"form": form, "manages": is_supervisor(desk)}
    return draw(request, desk, SITE, "desk/site.html", context, status=status)
