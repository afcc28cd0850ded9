"""Sheet F-11: companies of the site, what each does here, and who of it is here."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from sitetrack.access.models import Company
from sitetrack.access.rights import Right, allows, must
from sitetrack.access.roles import Trade
from sitetrack.access.selectors.companies import CompanyHere, companies_here, companies_on_site
from sitetrack.access.services.companies import LONGEST_NAME, change_company, list_company, unlist_company
from sitetrack.desk.setup import COMPANIES
from sitetrack.desk.sheets import Desk, draw, site_page
from sitetrack.desk.told import refused, told
from sitetrack.kit.problems import Forbidden, Problem


@require_safe
@site_page
def companies(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Every company of the site; for those who may read the whole of it."""
    return _page(request, desk)


@require_POST
@site_page
def add(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Put a company on the list."""
    name, trades = _given(request)
    try:
        made = list_company(site_id=desk.site.pk, name=name, trades=trades, who=desk.person, now=desk.now)
    except Problem as problem:
        return _page(request, desk, problem=problem)
    told(request, _("%(name)s is on the list.") % {"name": made})
    return redirect("setup:companies", code=desk.site.code)


@require_POST
@site_page
def change(request: HttpRequest, desk: Desk, company_id: UUID) -> HttpResponse:
    """Rename a company or say what it does here."""
    row = _company(desk, company_id)
    name, trades = _given(request)
    try:
        kept = change_company(
            site_id=desk.site.pk, company=row, name=name, trades=trades, who=desk.person, now=desk.now
        )
    except Problem as problem:
        return _page(request, desk, problem=problem, about=company_id)
    told(request, _("%(name)s: the change is kept.") % {"name": kept})
    return redirect("setup:companies", code=desk.site.code)


@require_POST
@site_page
def remove(request: HttpRequest, desk: Desk, company_id: UUID) -> HttpResponse:
    """Take a company off the list."""
    row = _company(desk, company_id)
    try:
        unlist_company(site_id=desk.site.pk, company=row, who=desk.person, now=desk.now)
    except Problem as problem:
        refused(request, problem)
    else:
        told(request, _("%(name)s is off the list.") % {"name": row})
    return redirect("setup:companies", code=desk.site.code)


def _company(desk: Desk, company_id: UUID) -> Company:
    found: Company = get_object_or_404(companies_on_site(desk.site.pk), pk=company_id)
    return found


def _given(request: HttpRequest) -> tuple[str, list[str]]:
    return request.POST.get("name", "")[: LONGEST_NAME * 3], request.POST.getlist("trade")[: len(Trade.values) + 1]


def _page(
    request: HttpRequest, desk: Desk, *, problem: Problem | None = None, about: UUID | None = None
) -> HttpResponse:
    """The sheet; after a refusal with what was typed, in the form it was typed into."""
    try:
        must(desk.person, desk.site.pk, Right.READ_WHOLE_SITE)
    except Forbidden as refusal:
        return draw(request, desk, COMPANIES, "desk/companies.html", {"forbidden": refusal.detail}, status=403)
    name, trades = _given(request)
    context = {
        "rows": [_row(row, problem if row.id == about else None, name, trades) for row in companies_here(desk.site.pk)],
        "refused": problem,
        "manages": allows(desk.membership.role, Right.SET_UP_SITE),
        "most": LONGEST_NAME,
        "new": _form(name, trades, problem) if problem and about is None else _form("", [], None),
    }
    return draw(request, desk, COMPANIES, "desk/companies.html", context, status=problem.status if problem else 200)


def _row(row: CompanyHere, problem: Problem | None, name: str, trades: list[str]) -> dict[str, Any]:
    return {
        "company": row,
        "does": [(label, code in row.done) for code, label in Trade.choices if code in row.trades],
        "form": _form(name, trades, problem)
        if problem
        else _form(row.name, row.told if row.listed else row.done, None),
    }


def _form(name: str, trades: Any, problem: Problem | None) -> dict[str, Any]:
    return {
        "name": name,
        "trades": [(code, label, code in trades) for code, label in Trade.choices],
        "wrong": {error.field: error.detail for error in problem.errors} if problem else {},
        "open": problem is not None,
    }
