"""Who is on a site's mailing list: added and taken off by its supervisors, one entry an address."""

from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction
from django.utils.translation import gettext as _

from openings.models import Site
from sitetrack.access.models import Company, Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.services.trail import record_change
from sitetrack.kit.problems import BadInput, Conflict, FieldError
from sitetrack.reports.models import Reader

MOST_READERS = 100
LONGEST_ADDRESS = 254  # characters: what the column holds


@dataclass(frozen=True, slots=True)
class Entry:
    """An entry as it was typed. No company is the whole site; no language, no paper: as is usual on the site."""

    email: str
    company: str = ""
    language: str = ""
    paper: str = ""
    gets_status: bool = True
    gets_anchor: bool = False


@transaction.atomic
def add_reader(*, site: Site, entry: Entry, who: Person, now: datetime, act: Act = Act.ADDED) -> Reader:
    """Put an address on the list; raises `BadInput` naming the field, `Conflict` for one that is on it."""
    must(who, site.pk, Right.MANAGE_OUTSIDE)
    Site.objects.select_for_update().get(pk=site.pk)
    email = _address(entry.email)
    if entry.language not in {"", *dict(settings.LANGUAGES)}:
        raise _unknown("language", entry.language, [code for code, _name in settings.LANGUAGES])
    if entry.paper not in {"", *Reader.Paper.values}:
        raise _unknown("paper", entry.paper, Reader.Paper.values)
    if not (entry.gets_status or entry.gets_anchor):
        raise BadInput(_("Choose what is mailed."), errors=[FieldError("gets_status", "nothing chosen")])
    company = _company(site, entry.company) if entry.company else None
    if Reader.objects.filter(site=site, email__iexact=email).exists():
        raise Conflict(_("%(address)s is on the list. Take it off first to change it.") % {"address": email})
    if Reader.objects.filter(site=site).count() >= MOST_READERS:
        raise Conflict(_("A mailing list has %(most)d addresses at most.") % {"most": MOST_READERS})
    reader = Reader.objects.create(
        site=site, email=email, company=company, language=entry.language, paper=entry.paper,
        gets_status=entry.gets_status, gets_anchor=entry.gets_anchor,
    )  # fmt: skip
    gained = {name: ("", value) for name, value in _told(reader).items()}
    record_change(site=site, who=who, now=now, kind=Kind.MAILING, act=act, about=reader, differences=gained)
    return reader


@transaction.atomic
def remove_reader(*, reader: Reader, who: Person, now: datetime) -> Entry:
    """Take an address off the list and give its entry, by which it is put back; what it is owed is not sent."""
    must(who, reader.site_id, Right.MANAGE_OUTSIDE)
    lost = {name: (value, "") for name, value in _told(reader).items()}
    record_change(
        site=reader.site_id, who=who, now=now, kind=Kind.MAILING, act=Act.REMOVED, about=reader, differences=lost
    )
    reader.delete()
    return Entry(
        reader.email, str(reader.company or ""), reader.language, reader.paper, reader.gets_status, reader.gets_anchor
    )


def companies_of(site: Site) -> list[Company]:
    """The companies that have or had a role on the site: those an edition can be of. One query."""
    return list(Company.objects.filter(memberships__site=site).distinct().order_by("name"))


def _told(reader: Reader) -> dict[str, str]:
    told = {
        "company": str(reader.company or ""),
        "language": reader.language,
        "paper": reader.paper,
        "status": "yes" if reader.gets_status else "",
        "anchor": "yes" if reader.gets_anchor else "",
    }
    return {name: value for name, value in told.items() if value}


def _address(text: str) -> str:
    email = text.strip()
    try:
        validate_email(email)
        if len(email) > LONGEST_ADDRESS:
            raise ValidationError("too long")
    except ValidationError as error:
        wrong = FieldError("email", "not a mail address", read=email[:80], example="office@example.com")
        raise BadInput(_("This is no mail address. Write it like office@example.com."), errors=[wrong]) from error
    return email


def _company(site: Site, name: str) -> Company:
    found = next((company for company in companies_of(site) if company.name.lower() == name.strip().lower()), None)
    if found is None:
        raise BadInput(
            _("There is no such company on this site. Choose one of the list."),
            errors=[FieldError("company", "no such company on this site", read=name[:80])],
        )
    return found


def _unknown(field: str, read: str, known: list[str]) -> BadInput:
    wrong = FieldError(field, "no such choice", read=read[:20], expected=", ".join(known), example=known[0])
    return BadInput(_("Choose one of the list."), errors=[wrong])
