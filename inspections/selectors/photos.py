"""Which photos a person may see, and which never came."""

from typing import Any

from django.db.models import Exists, OuterRef, QuerySet

from inspections.models import CheckIn, CheckInPhoto, Photo
from openings.models import Site
from sitetrack.access.models import Person

MOST_NAMING = 50


def named_photos() -> QuerySet[CheckInPhoto]:
    """Photos that check-ins name, each with `arrived`."""
    return CheckInPhoto.objects.annotate(arrived=Exists(Photo.objects.filter(pk=OuterRef("digest"))))


def visible_photo(digest: str, person: Person, site_id: Any = None) -> Photo | None:
    """The photo if it has come and a check-in that the person may see names it; `site_id` narrows to one site."""
    naming = CheckInPhoto.objects.visible_to(person).filter(digest=digest)
    if site_id is not None:
        naming = naming.filter(site=site_id)
    return Photo.objects.filter(pk=digest).first() if naming.exists() else None


def naming_check_ins(digest: str, site: Site, person: Person) -> list[CheckIn]:
    """The check-ins of the site that name the photo and that the person may see, earliest first."""
    naming = CheckInPhoto.objects.visible_to(person).filter(site=site, digest=digest).values("check_in")
    check_ins = CheckIn.objects.filter(pk__in=naming).select_related("opening", "person", "company", "device")
    return list(check_ins.order_by("corrected_at", "id")[:MOST_NAMING])
