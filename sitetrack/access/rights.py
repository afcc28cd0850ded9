"""The one table of what each role may do on a site; what each may see is decided beside it, in `scope`.

A service that changes something begins with `must(who, site_id, Right.…)`; a page that only wants to know whether a
form is worth showing asks `allows(role, …)` or `may(…)`. A new right is a line in each of the two tables here.
Who may report which stage is the sequence plan's to say (`inspections.services.deciding`), by role and trade.
"""

from enum import StrEnum
from typing import Any

from django.utils.translation import gettext_lazy as _

from sitetrack.access.models.memberships import Membership
from sitetrack.access.models.people import Person
from sitetrack.access.roles import Role
from sitetrack.access.scope import membership_of
from sitetrack.kit.problems import Forbidden


class Right(StrEnum):
    """One thing that a person may or may not do on a site."""

    REPORT = "report"
    ANSWER_ALERTS = "answer alerts"
    READ_WHOLE_SITE = "read the whole site"
    CHANGE_SCHEDULE = "change the schedule"
    SET_TOLERANCES = "set tolerances"
    SETTLE_KEPT_ASIDE = "settle what was kept aside"
    SET_UP_SITE = "set up the site"
    MANAGE_PEOPLE = "manage people"
    MANAGE_PHONES = "manage phones"
    MANAGE_OUTSIDE = "manage what is sent outside"
    READ_CHANGES = "read the audit trail"


_SUPERVISOR = frozenset({Role.SUPERVISOR})
ROLES: dict[Right, frozenset[Role]] = {
    Right.REPORT: frozenset({Role.SUPERVISOR, Role.INSPECTOR, Role.CREW}),
    Right.ANSWER_ALERTS: frozenset({Role.SUPERVISOR, Role.INSPECTOR}),
    Right.READ_WHOLE_SITE: frozenset({Role.SUPERVISOR, Role.INSPECTOR, Role.VIEWER}),
    Right.CHANGE_SCHEDULE: _SUPERVISOR,
    Right.SET_TOLERANCES: _SUPERVISOR,
    Right.SETTLE_KEPT_ASIDE: _SUPERVISOR,
    Right.SET_UP_SITE: _SUPERVISOR,
    Right.MANAGE_PEOPLE: _SUPERVISOR,
    Right.MANAGE_PHONES: _SUPERVISOR,
    Right.MANAGE_OUTSIDE: _SUPERVISOR,
    Right.READ_CHANGES: _SUPERVISOR,
}
REFUSED: dict[Right, Any] = {
    Right.REPORT: _("Viewers look; they don't report."),
    Right.ANSWER_ALERTS: _("Alerts are answered by a supervisor or an inspector of the site."),
    Right.READ_WHOLE_SITE: _("The figures of all companies are not shown to a crew."),
    Right.CHANGE_SCHEDULE: _("Only a supervisor of the site changes its schedule."),
    Right.SET_TOLERANCES: _("The tolerances of a site are set by its supervisor."),
    Right.SETTLE_KEPT_ASIDE: _("Items kept aside are settled by a supervisor of the site."),
    Right.SET_UP_SITE: _("A site is set up by its supervisor."),
    Right.MANAGE_PEOPLE: _("People are invited, changed and removed by a supervisor of the site."),
    Right.MANAGE_PHONES: _("Devices are let in and stopped by a supervisor of the site."),
    Right.MANAGE_OUTSIDE: _("What a site sends outside is settled by its supervisor."),
    Right.READ_CHANGES: _("The record of changes is read by a supervisor of the site."),
}
# Which roles each may give and take: nobody raises anyone above themselves.
GIVES: dict[Role, frozenset[Role]] = {
    Role.SUPERVISOR: frozenset(Role),
    Role.INSPECTOR: frozenset(),
    Role.CREW: frozenset(),
    Role.VIEWER: frozenset(),
}


def allows(role: str, right: Right) -> bool:
    """Whether the role carries the right."""
    return role in ROLES[right]


def may(person: Person, site_id: Any, right: Right) -> bool:
    """Whether the person may do this on the site; nobody may anything on a site they have no role on."""
    standing = membership_of(person, site_id)
    return standing is not None and allows(standing.role, right)


def must(person: Person, site_id: Any, right: Right) -> Membership:
    """The person's standing, or `Forbidden` in words; a site without a role is not told apart from one with too little.

    Someone whose account was closed may nothing, whatever roles were left behind.
    """
    standing = membership_of(person, site_id)
    if standing is None or not person.is_active or not allows(standing.role, right):
        raise Forbidden(str(REFUSED[right]))
    return standing
