"""Opening a site: its people's first standing and its sequence plans."""

import json
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction

from openings.models import Site
from openings.services.plans import install_plan
from sitetrack.access.models import Company, Membership, Person
from sitetrack.access.roles import Role

SHIPPED_PLANS = Path(settings.BASE_DIR) / "fixtures" / "sequence_plans"


@transaction.atomic
def open_site(*, code: str, name: str, supervisor: Person, company: Company, now: datetime, **settled: Any) -> Site:
    """A new site with the shipped sequence plans and its first supervisor.

    `settled` are further fields of `Site`, such as `time_zone` and `units`. Raises `ValidationError` naming the field.
    """
    site = Site(code=code, name=name, **settled)
    site.full_clean()
    site.save()
    for path in sorted(SHIPPED_PLANS.glob("*.json")):
        install_plan(site=site, document=json.loads(path.read_text(encoding="utf-8")))
    Membership.objects.create(
        site=site, person=supervisor, company=company, role=Role.SUPERVISOR, trades=[Role.SUPERVISOR], began_at=now
    )
    return site
