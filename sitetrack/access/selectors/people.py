"""People of a site, with when each was last heard of and how many phones they have there."""

from typing import Any

from django.db.models import Count, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from sitetrack.access.models import Device, Invitation, Membership, SignedIn


def people_of(site_id: Any, wanted: str = "") -> QuerySet[Any]:
    """Present standings by company and name, narrowed by a part of a name, address or company."""
    phones = Device.objects.filter(site=site_id, person=OuterRef("person"), revoked_at=None)
    counted = phones.order_by().values("person").annotate(n=Count("pk")).values("n")
    heard = phones.filter(last_seen_at__isnull=False).order_by("-last_seen_at").values("last_seen_at")[:1]
    seen = SignedIn.objects.filter(person=OuterRef("person")).order_by("-seen_at").values("seen_at")[:1]
    rows = Membership.objects.filter(site=site_id, ended_at=None).select_related("person", "company")
    if wanted:
        rows = rows.filter(
            Q(person__name__icontains=wanted) | Q(person__email__icontains=wanted) | Q(company__name__icontains=wanted)
        )
    return rows.annotate(
        phones=Coalesce(Subquery(counted), 0), phone_seen_at=Subquery(heard), browser_seen_at=Subquery(seen)
    ).order_by("company__name", "person__name", "pk")


def open_invitations(site_id: Any) -> QuerySet[Any]:
    """Invitations that nobody has taken or withdrawn yet, those run out too: they can be sent again."""
    rows = Invitation.objects.filter(site=site_id, taken_at=None, withdrawn_at=None)
    return rows.select_related("company", "made_by")
