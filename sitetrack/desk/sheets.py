"""What every sheet of the desk has: the site it is about, who looks at it, and its title block."""

import zoneinfo
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from functools import wraps
from typing import Any

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from openings.models import Site
from sitetrack.access.models import Membership, Person
from sitetrack.access.roles import Role
from sitetrack.access.scope import membership_of
from sitetrack.kit.clock import now as read_clock
from sitetrack.kit.problems import Forbidden


@dataclass(frozen=True, slots=True)
class Sheet:
    """A kind of page: its number in the set, its name, and the address it is listed under, if it is."""

    number: str
    name: Any
    url: str = ""


TODAY = Sheet("F-1", _("Today"), "desk:today")
FLOOR = Sheet("F-2", _("Floor"))
FLOORS = Sheet("F-2", _("Floors"), "desk:floors")
OPENING = Sheet("F-3", _("Opening"))
ALERTS = Sheet("F-4", _("Alerts"), "desk:alerts")
SCHEDULE = Sheet("F-5", _("Schedule"), "desk:schedule")
WEEKLY = Sheet("F-6", _("Weekly"), "desk:weekly")
READINGS = Sheet("F-7", _("Readings"), "desk:site-readings")
KIT = Sheet("F-8", _("Kit list"), "desk:kit")
DRIFT = Sheet("F-9", _("Drift"), "desk:drift")
TOLERANCES = Sheet("F-10", _("Tolerances"), "desk:tolerances")
SETUP = Sheet("F-11", _("Set-up"), "setup:phones")
PROGRESS = Sheet("F-12", _("Progress"), "desk:progress")
KEYS = Sheet("F-0", _("Keys"))
TAKEOFF = Sheet("F-3", _("Takeoff"))
SITES = Sheet("F-0", _("Sites"))
SIGN_IN = Sheet("F-0", _("Sign in"))

# The sheets of every day stand in the index; the further ones are folded away behind them.
INDEX = (TODAY, FLOORS, ALERTS, SCHEDULE, WEEKLY)
FURTHER = (PROGRESS, KIT, READINGS, DRIFT, TOLERANCES, SETUP)


@dataclass(frozen=True, slots=True)
class Desk:
    """A person at a site, at one moment."""

    site: Site
    person: Person
    membership: Membership
    now: datetime

    @property
    def today(self) -> date:
        """The day it is on the site."""
        return self.now.astimezone(self.site.zone).date()

    @property
    def may_report(self) -> bool:
        """Whether forms are worth showing; what may be done is judged by the services."""
        return self.membership.role != Role.VIEWER

    @property
    def answers_alerts(self) -> bool:
        """Whether this role answers alerts."""
        return self.membership.role in {Role.SUPERVISOR, Role.INSPECTOR}


SiteView = Callable[..., HttpResponse]


def site_page(view: SiteView) -> Callable[..., HttpResponse]:
    """A page of one site: signed in, standing on that site, times on the site's own clock; strangers find nothing."""

    @wraps(view)
    def wrapped(request: HttpRequest, code: str, **arguments: Any) -> HttpResponse:
        person: Any = request.user
        site = Site.objects.visible_to(person).filter(code=code).first()
        membership = site and membership_of(person, site.pk)
        if not site or not membership:
            raise Http404("No such site among yours.")
        with timezone.override(zoneinfo.ZoneInfo(site.time_zone)):
            try:
                return view(request, Desk(site, person, membership, read_clock()), **arguments)
            except Forbidden as refusal:  # one that the page does not tell in a way of its own
                raise PermissionDenied(refusal.detail) from refusal

    return login_required(wrapped)


def draw(
    request: HttpRequest, desk: Desk, sheet: Sheet, template: str, context: dict[str, Any], *, status: int = 200
) -> HttpResponse:
    """The page inside its sheet."""
    whole = {"desk": desk, "site": desk.site, "sheet": sheet, "index": INDEX, "further": FURTHER, **context}
    return render(request, template, whole, status=status)
