"""A site's tolerances, by version: a change is a new version, and old verdicts keep theirs."""

from collections.abc import Mapping
from datetime import datetime
from functools import lru_cache
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext as _

from inspections.models import ToleranceProfile as StoredProfile
from inspections.trueness.errors import ReadingError
from inspections.trueness.profile import ToleranceProfile
from inspections.trueness.profile_changes import change_profile
from openings.models import Site
from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.services.trail import differing, record_change
from sitetrack.kit.problems import BadInput, Conflict, FieldError


def current_profile(site: Site, now: datetime) -> StoredProfile:
    """The site's latest version; the published defaults become version 1 when there is none yet."""
    latest = StoredProfile.objects.filter(site=site).order_by("-version").first()
    if latest is None:
        published = {"data": published_profile(site).to_dict(), "made_at": now}
        latest, _made = StoredProfile.objects.get_or_create(site=site, version=1, defaults=published)
    return latest


def published_profile(site: Site) -> ToleranceProfile:
    """What a site goes by until it says otherwise: the published limits, in its own units."""
    units = site.unit_system
    return ToleranceProfile(units=units)


def profile_in_force(site: Site) -> tuple[int, ToleranceProfile]:
    """What a reading would be judged by now, and its version; version 0 is the published limits, stored nowhere yet."""
    latest = StoredProfile.objects.filter(site=site).order_by("-version").values_list("version", "pk").first()
    return (latest[0], prepared_profile(latest[1])) if latest else (0, published_profile(site))


@lru_cache(maxsize=256)
def prepared_profile(profile_id: UUID) -> ToleranceProfile:
    """The profile as the core uses it. Versions never change, so it is read once in a process."""
    return ToleranceProfile.from_dict(StoredProfile.objects.get(pk=profile_id).data)


@transaction.atomic
def set_profile(
    *,
    site: Site,
    changes: Mapping[str, object],
    who: Person,
    now: datetime,
    said_in: str = "",
    based_on: int | None = None,
) -> StoredProfile:
    """Make the next version of a site's tolerances; the same again makes none and answers the version there is.

    `changes` are settings by name, a limit as written ("1/8"), None for what is published; `said_in` is where the
    site's documents say so; `based_on` the version that was looked at. Raises `Forbidden`, `Conflict`, `BadInput`.
    """
    must(who, site.pk, Right.SET_TOLERANCES)
    # The site's row is locked, so that of two changes at once the second sees the first instead of its number.
    Site.objects.select_for_update().get(pk=site.pk)
    current = current_profile(site, now)
    if based_on is not None and based_on != current.version:
        raise Conflict(
            _(
                "Version %(current)d was made since you read version %(read)d. Look at it, then change what still "
                "needs it."
            )
            % {"current": current.version, "read": based_on}
        )
    before = prepared_profile(current.pk)
    try:
        after = change_profile(before, changes, source=said_in.strip())
    except ReadingError as error:
        field = FieldError(error.field, str(error), read=error.read, expected=error.expected)
        raise BadInput(str(error), errors=[field]) from error
    if after == before:
        return current
    made = StoredProfile.objects.create(
        site=site, version=current.version + 1, data=after.to_dict(), made_at=now, made_by=who
    )
    record_change(
        site=site, who=who, now=now, kind=Kind.PROFILE, act=Act.CHANGED, about=f"version {made.version}",
        differences=differing(_told(before), _told(after)) | ({"source": ("", said_in)} if said_in else {}),
    )  # fmt: skip
    return made


def _told(profile: ToleranceProfile) -> dict[str, object]:
    """Its settings by name, limits as value and unit."""
    told = profile.to_dict()
    return {name: f"{v['value']} {v['unit']}" if isinstance(v, dict) else v for name, v in told.items()}
