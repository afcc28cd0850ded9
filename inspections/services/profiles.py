"""A site's tolerances, by version."""

from datetime import datetime
from functools import lru_cache
from uuid import UUID

from inspections.models import ToleranceProfile as StoredProfile
from inspections.trueness.profile import ToleranceProfile
from openings.models import Site
from sitetrack.kit.lengths import UnitSystem


def current_profile(site: Site, now: datetime) -> StoredProfile:
    """The site's latest version; the published defaults become version 1 when there is none yet."""
    latest = StoredProfile.objects.filter(site=site).order_by("-version").first()
    if latest is None:
        units: UnitSystem = "metric" if site.units == Site.Units.METRIC else "imperial"
        published = {"data": ToleranceProfile(units=units).to_dict(), "made_at": now}
        latest, _ = StoredProfile.objects.get_or_create(site=site, version=1, defaults=published)
    return latest


@lru_cache(maxsize=256)
def prepared_profile(profile_id: UUID) -> ToleranceProfile:
    """The profile as the core uses it. Versions never change, so it is read once in a process."""
    return ToleranceProfile.from_dict(StoredProfile.objects.get(pk=profile_id).data)
