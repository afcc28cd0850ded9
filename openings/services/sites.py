"""Opening a site: its people's first standing and its sequence plans."""

import json
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from openings.models import Site
from openings.services.plans import install_plan
from sitetrack.access.models import Company, Membership, Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.roles import Role
from sitetrack.access.services.trail import record_change
from sitetrack.kit.problems import BadInput, FieldError, Forbidden

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


@transaction.atomic
def found_site(*, facts: Mapping[str, Any], company: str, supervisor: str, who: Person, now: datetime) -> Site:
    """A new site made by whoever keeps the server: `facts` are fields of `Site`, `supervisor` an e-mail address.

    The company is found by its name, or made. Raises `Forbidden`, and `BadInput` naming each field.
    """
    if not (who.is_staff and who.is_active):
        raise Forbidden(_("A site is made by those who keep the server."))
    person = Person.objects.filter(email__iexact=supervisor.strip(), is_active=True).first()
    if person is None:
        said = _("Nobody here has this address. Name yourself, and invite them from the site's people.")
        raise BadInput(said, errors=[FieldError("supervisor", said)])
    employer = Company.objects.filter(name__iexact=company.strip()).first() or Company(name=company.strip())
    try:
        employer.full_clean()
        employer.save()
        site = open_site(supervisor=person, company=employer, now=now, **facts)
    except ValidationError as error:
        # A company has one field of its own to be wrong.
        whose = {"name": "company"} if not Company.objects.filter(pk=employer.pk).exists() else {}
        errors = [FieldError(whose.get(name, name), " ".join(said)) for name, said in error.message_dict.items()]
        raise BadInput(errors[0].detail, errors=errors) from error
    record_change(
        site=site, who=who, now=now, kind=Kind.SITE, act=Act.ADDED, about=site,
        differences={"supervisor": ("", person), "company": ("", employer)},
    )  # fmt: skip
    return site
