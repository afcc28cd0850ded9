"""What the sheets of the set-up share."""

from django.utils.translation import gettext_lazy as _

from sitetrack.access.roles import Role
from sitetrack.desk.sheets import Desk, Sheet

COMPANIES = Sheet("F-11", _("Companies"), "setup:companies")
PEOPLE = Sheet("F-11", _("People"), "setup:people")
PHONES = Sheet("F-11", _("Phones"), "setup:phones")
KEPT_ASIDE = Sheet("F-11", _("Kept aside"), "setup:kept-aside")
SITE = Sheet("F-11", _("Site"), "setup:site")
NEW_SITE = Sheet("F-0", _("A new site"))
PLACES = Sheet("F-11", _("Buildings and floors"), "setup:places")
PLANS = Sheet("F-11", _("Sequence plans"), "setup:plans")
MAILING = Sheet("F-11", _("Mailing list"), "setup:mailing")
WEBHOOKS = Sheet("F-11", _("Webhooks"), "setup:webhooks")
SIGNING = Sheet("F-0", _("Signing code"))


def is_supervisor(desk: Desk) -> bool:
    """Whether the set-up is theirs to see; what may be done is judged by the services."""
    return desk.membership.role == Role.SUPERVISOR
