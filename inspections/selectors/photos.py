"""Which photos a person may see, and which never came."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from inspections.models import CheckInPhoto, Photo
from sitetrack.access.models import Person


def named_photos() -> QuerySet[CheckInPhoto]:
    """Photos that check-ins name, each with `arrived`."""
    return CheckInPhoto.objects.annotate(arrived=Exists(Photo.objects.filter(pk=OuterRef("digest"))))


def visible_photo(digest: str, person: Person, site_id: Any = None) -> Photo | None:
    """The photo if it has come and a check-in that the person may see names it; `site_id` narrows to one site."""
    naming = CheckInPhoto.objects.visible_to(person).filter(digest=digest)
    if site_id is not None:
        naming = naming.filter(site=site_id)
    return Photo.objects.filter(pk=digest).first() if naming.exists() else None


def missing_photos(check_in_ids: Iterable[Any]) -> dict[UUID, list[str]]:
    """Digests of the photos that these check-ins name and that have not come."""
    missing: dict[UUID, list[str]] = {}
    rows = CheckInPhoto.objects.filter(check_in__in=list(check_in_ids)).exclude(
        digest__in=Photo.objects.values("digest")
    )
    for check_in, digest in rows.values_list("check_in", "digest"):
        missing.setdefault(check_in, []).append(digest)
    return missing
