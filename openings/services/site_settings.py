"""The settings of a site, changed by its supervisor."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from openings.models import Site
from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.services.trail import differing, facts_of, record_change
from sitetrack.kit.problems import BadInput, FieldError

SETTINGS = (
    "name", "time_zone", "units", "language", "report_weekday", "report_hour", "hold_limit_days",
    "signer_differs_from_reader", "supervisors_need_codes", "starts_on", "ends_on", "contact",
)  # fmt: skip


@transaction.atomic
def change_site(*, site: Site, settings: Mapping[str, Any], who: Person, now: datetime) -> Site:
    """Give the site these settings; raises `Forbidden`, and `BadInput` naming each field that can't be taken.

    What follows from other units for what is judged is `inspections.services.site_settings`' business.
    """
    must(who, site.pk, Right.SET_UP_SITE)
    held = Site.objects.select_for_update().get(pk=site.pk)
    before = facts_of(held, *SETTINGS)
    for name, value in settings.items():
        if name not in SETTINGS:
            raise BadInput(f"{name} is no setting of a site.", errors=[FieldError(name, "no setting of a site")])
        setattr(held, name, value)
    try:
        held.full_clean()
    except ValidationError as error:
        errors = [FieldError(name, " ".join(said)) for name, said in error.message_dict.items()]
        raise BadInput(errors[0].detail, errors=errors) from error
    differences = differing(before, facts_of(held, *SETTINGS))
    if differences:
        held.save(update_fields=[*differences])
        record_change(site=held, who=who, now=now, kind=Kind.SITE, act=Act.CHANGED, about=held, differences=differences)
    return held
