"""The settings of a site together with what follows from them for what is judged."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from django.db import transaction

from inspections.models import ToleranceProfile as StoredProfile
from inspections.services.profiles import current_profile, prepared_profile
from openings.models import Site
from openings.services.site_settings import change_site
from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.services.trail import record_change


@transaction.atomic
def settle_site(*, site: Site, settings: Mapping[str, Any], who: Person, now: datetime) -> Site:
    """Change the settings; other units make the next version of the tolerances, in those units.

    The limits stay the lengths they are. Bare numbers read from then on are taken in the new units, and checks already
    judged keep the version, and so the units, they were judged by.
    """
    before = site.units
    changed = change_site(site=site, settings=settings, who=who, now=now)
    if changed.units != before:
        _judge_in_units(changed, who, now)
    return changed


def _judge_in_units(site: Site, who: Person, now: datetime) -> None:
    units = site.unit_system
    latest = current_profile(site, now)
    profile = prepared_profile(latest.pk)
    if profile.units == units:
        return
    made = StoredProfile.objects.create(
        site=site, version=latest.version + 1, data=replace(profile, units=units).to_dict(), made_at=now, made_by=who
    )
    record_change(
        site=site,
        who=who,
        now=now,
        kind=Kind.PROFILE,
        act=Act.CHANGED,
        about=f"version {made.version}",
        differences={"units": (profile.units, units)},
    )
