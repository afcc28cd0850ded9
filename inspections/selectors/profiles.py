"""A site's tolerances as pages show them: their versions, and the frames that other rules would judge differently."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Count

from inspections.models import ToleranceProfile
from openings.models import Opening, Site
from sitetrack.access.models import Person
from sitetrack.kit.lengths import Length

MOST_VERSIONS = 50
MOST_SIZES = 8


@dataclass(frozen=True, slots=True)
class Version:
    """One version of a site's tolerances; `made_by` is empty where the published limits were taken over."""

    number: int
    data: Mapping[str, Any]
    made_at: datetime
    made_by: str


@dataclass(frozen=True, slots=True)
class FrameSize:
    """A frame height in one kind of wall, and how many of the site's openings have it."""

    height: Length
    wall: str
    openings: int


def versions_of(site: Site, person: Person) -> list[Version]:
    """The versions, the latest first. One query."""
    profiles = ToleranceProfile.objects.visible_to(person).filter(site=site).select_related("made_by")
    return [
        Version(profile.version, profile.data, profile.made_at, str(profile.made_by or ""))
        for profile in profiles.order_by("-version")[:MOST_VERSIONS]
    ]


def common_sizes(site: Site, person: Person) -> list[FrameSize]:
    """The heights and walls that most openings of the site have, where the schedule tells both. One query."""
    openings = Opening.objects.visible_to(person).filter(
        site=site, in_schedule=True, size_is=Opening.SizeIs.OPENING, height__isnull=False
    )
    counted = (
        openings.exclude(wall=None)
        .exclude(wall__kind="")
        .order_by()
        .values_list("height", "wall__kind")
        .annotate(openings=Count("pk"))
    )
    return [FrameSize(*row) for row in counted.order_by("-openings", "height", "wall__kind")[:MOST_SIZES]]
