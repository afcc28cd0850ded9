"""Companies of a site: put on its list, renamed, given trades, taken off again."""

from collections.abc import Collection
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from sitetrack.access.models import Company, Membership, Person, SiteCompany
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.roles import Role, Trade
from sitetrack.access.services.trail import differing, record_change
from sitetrack.kit.problems import BadInput, Conflict, FieldError, Forbidden

LONGEST_NAME = 120


@transaction.atomic
def list_company(*, site_id: Any, name: str, trades: Collection[str], who: Person, now: datetime) -> SiteCompany:
    """Put a company on the site's list; one that other sites know by this name is the same company.

    Raises `Forbidden`, `BadInput` naming the field, `Conflict` for one that is on the list already.
    """
    must(who, site_id, Right.SET_UP_SITE)
    name, trades = _checked(name, trades)
    company, _made = Company.objects.get_or_create(name__iexact=name, defaults={"name": name})
    listed, fresh = SiteCompany.objects.get_or_create(site_id=site_id, company=company, defaults={"trades": trades})
    if not fresh:
        said = _("%(name)s is on the list already. Change it there.") % {"name": company}
        raise Conflict(said)
    record_change(
        site=site_id, who=who, now=now, kind=Kind.COMPANY, act=Act.ADDED, about=company,
        differences={"trades": ("", trades)},
    )  # fmt: skip
    return listed


@transaction.atomic
def change_company(
    *, site_id: Any, company: Company, name: str, trades: Collection[str], who: Person, now: datetime
) -> Company:
    """Let a company bear another name, on every site that knows it, and say which trades it does on this one.

    Raises `Forbidden`, also where it would be renamed on a site that `who` does not set up, and `BadInput`.
    """
    must(who, site_id, Right.SET_UP_SITE)
    name, trades = _checked(name, trades)
    held = Company.objects.select_for_update().get(pk=company.pk)
    if name != held.name:
        _rename(held, name, site_id, who, now)
    row, fresh = SiteCompany.objects.select_for_update().get_or_create(
        site_id=site_id, company=held, defaults={"trades": trades}
    )
    before = [] if fresh else sorted(row.trades)
    if not fresh and before != trades:
        row.trades = trades
        row.save(update_fields=["trades"])
    record_change(
        site=site_id, who=who, now=now, kind=Kind.COMPANY, act=Act.CHANGED, about=held,
        differences=differing({"trades": before}, {"trades": trades}),
    )  # fmt: skip
    return held


@transaction.atomic
def unlist_company(*, site_id: Any, company: Company, who: Person, now: datetime) -> None:
    """Take a company off the site's list; raises `Conflict` while someone of it is here."""
    must(who, site_id, Right.SET_UP_SITE)
    row = SiteCompany.objects.select_for_update().filter(site=site_id, company=company).first()
    if row is None:
        raise Conflict(_("This was changed meanwhile. Look at the list again."))
    if Membership.objects.filter(site=site_id, company=company, ended_at=None).exists():
        raise Conflict(_("People of %(name)s are on the site. Remove them first.") % {"name": company})
    trades = row.trades
    row.delete()
    record_change(
        site=site_id, who=who, now=now, kind=Kind.COMPANY, act=Act.REMOVED, about=company,
        differences={"trades": (trades, "")},
    )  # fmt: skip


def _rename(held: Company, name: str, site_id: Any, who: Person, now: datetime) -> None:
    """One name on all sites; so whoever changes it must set up each of them, and each keeps a record of it."""
    standings = Membership.objects.filter(company=held, ended_at=None)
    listings = SiteCompany.objects.filter(company=held)
    sites = {site_id, *standings.values_list("site", flat=True), *listings.values_list("site", flat=True)}
    mine = Membership.objects.filter(person=who, site__in=sites, role=Role.SUPERVISOR, ended_at=None)
    if sites - set(mine.values_list("site", flat=True)):
        raise Forbidden(
            _("%(name)s works on sites that you don't set up, so its name is not yours alone to change.")
            % {"name": held}
        )
    if Company.objects.filter(Q(name__iexact=name) & ~Q(pk=held.pk)).exists():
        said = _("Another company has this name. Choose one that tells them apart.")
        raise BadInput(said, errors=[FieldError("name", said, read=name)])
    before, held.name = held.name, name
    held.save(update_fields=["name"])
    for each in sorted(sites, key=str):
        record_change(
            site=each, who=who, now=now, kind=Kind.COMPANY, act=Act.CHANGED, about=held,
            differences={"name": (before, name)},
        )  # fmt: skip


def _checked(name: str, trades: Collection[str]) -> tuple[str, list[str]]:
    name = " ".join(name.split())
    if not 0 < len(name) <= LONGEST_NAME:
        said = _("Name the company, in at most %(most)d characters.") % {"most": LONGEST_NAME}
        raise BadInput(said, errors=[FieldError("name", said, read=name[:LONGEST_NAME])])
    if unknown := [trade for trade in trades if trade not in Trade.values]:
        raise BadInput(_("No such trade."), errors=[FieldError("trades", _("No such trade."), read=unknown[0][:40])])
    return name, sorted(set(trades))
