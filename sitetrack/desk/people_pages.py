"""Sheet F-11: people of the site and what they are there; asking someone, changing and removing them."""

from typing import Any
from uuid import UUID

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from sitetrack.access.models import Company, Invitation, Membership
from sitetrack.access.rights import Right, must
from sitetrack.access.roles import Role, Trade
from sitetrack.access.selectors.people import open_invitations, people_of
from sitetrack.access.services.invitations import (
    MOST_OPEN,
    Asked,
    Standing,
    invite,
    invite_again,
    withdraw_invitation,
)
from sitetrack.access.services.people import change_standing, end_standing
from sitetrack.desk.account_mails import invitation_link, invitation_mail, joined_mail, send_now
from sitetrack.desk.setup import PEOPLE
from sitetrack.desk.sheets import Desk, draw, site_page
from sitetrack.desk.told import refused, told
from sitetrack.kit.problems import Forbidden, Problem

MOST_PEOPLE = 300  # on a page; a name narrows
MOST_COMPANIES = 200


@require_safe
@site_page
def people(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Everyone with a role here, and those asked who have not come yet."""
    return _forbidden(request, desk) or _list(request, desk)


@never_cache
@require_POST
@site_page
def ask(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Ask someone by their address; the link is mailed, or shown this once where no mail goes out."""
    given = _given(request)
    asked = Asked(given["email"], given["name"], given["language"])
    try:
        made = invite(site_id=desk.site.pk, asked=asked, standing=_standing(given), who=desk.person, now=desk.now)
    except Problem as problem:
        return _forbidden(request, desk) or _list(request, desk, given=given, problem=problem)
    if made.membership is not None:
        mailed = send_now(joined_mail(made.membership))
        said = _("%(name)s has an account and is on the site now.") if mailed else _(
            "%(name)s has an account and is on the site now. No mail went out: tell them."
        )  # fmt: skip
        told(request, said % {"name": made.membership.person})
        return redirect("setup:people", code=desk.site.code)
    return _sent(request, desk, made.invitation, made.token)


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def person(request: HttpRequest, desk: Desk, standing_id: UUID) -> HttpResponse:
    """One person's role, company and trades; a change ends the old standing and begins another."""
    if answer := _forbidden(request, desk):
        return answer
    row = get_object_or_404(people_of(desk.site.pk), pk=standing_id)
    if request.method != "POST":
        given = {"role": row.role, "company": row.company.name, "trades": row.trades}
        return _one(request, desk, row, given=given)
    given = _given(request)
    try:
        change_standing(membership=row, to=_standing(given), who=desk.person, now=desk.now)
    except Problem as problem:
        return _one(request, desk, row, given=given, problem=problem)
    told(request, _("%(name)s: the change is kept.") % {"name": row.person})
    return redirect("setup:people", code=desk.site.code)


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def remove(request: HttpRequest, desk: Desk, standing_id: UUID) -> HttpResponse:
    """Say what removing someone means, and do it once that is answered with yes."""
    if answer := _forbidden(request, desk):
        return answer
    row = get_object_or_404(people_of(desk.site.pk), pk=standing_id)
    if request.method != "POST":
        return draw(request, desk, PEOPLE, "desk/person_remove.html", {"row": row})
    try:
        end_standing(membership=row, who=desk.person, now=desk.now)
    except Problem as problem:
        context = {"row": row, "refused": problem}
        return draw(request, desk, PEOPLE, "desk/person_remove.html", context, status=problem.status)
    if row.person_id == desk.person.pk:
        return redirect("desk:sign-in")
    told(request, _("%(name)s is removed from the site.") % {"name": row.person})
    return redirect("setup:people", code=desk.site.code)


@never_cache
@require_POST
@site_page
def send_again(request: HttpRequest, desk: Desk, row_id: UUID) -> HttpResponse:
    """A new link in place of the old one."""
    row = _invitation(desk, row_id)
    try:
        token = invite_again(invitation=row, who=desk.person, now=desk.now)
    except Problem as problem:
        refused(request, problem)
        return redirect("setup:people", code=desk.site.code)
    return _sent(request, desk, _invitation(desk, row_id), token)


@require_POST
@site_page
def withdraw(request: HttpRequest, desk: Desk, row_id: UUID) -> HttpResponse:
    """Take an invitation back."""
    row = _invitation(desk, row_id)
    try:
        withdraw_invitation(invitation=row, who=desk.person, now=desk.now)
    except Problem as problem:
        refused(request, problem)
    else:
        told(request, _("The invitation of %(email)s is withdrawn.") % {"email": row.email})
    return redirect("setup:people", code=desk.site.code)


def _sent(request: HttpRequest, desk: Desk, invitation: Any, token: str) -> HttpResponse:
    """Mail the link; where that did not work, show it this once, to be handed over."""
    if send_now(invitation_mail(invitation, token)):
        told(request, _("The invitation is mailed to %(email)s.") % {"email": invitation.email})
        return redirect("setup:people", code=desk.site.code)
    context = {"invitation": invitation, "link": invitation_link(token)}
    return draw(request, desk, PEOPLE, "desk/invitation_link.html", context)


def _forbidden(request: HttpRequest, desk: Desk) -> HttpResponse | None:
    """The page for those who may not, or None."""
    try:
        must(desk.person, desk.site.pk, Right.MANAGE_PEOPLE)
    except Forbidden as refusal:
        return draw(request, desk, PEOPLE, "desk/people.html", {"forbidden": refusal.detail}, status=403)
    return None


def _list(
    request: HttpRequest, desk: Desk, *, given: dict[str, Any] | None = None, problem: Problem | None = None
) -> HttpResponse:
    wanted = request.GET.get("name", "").strip()[:120]
    rows = list(people_of(desk.site.pk, wanted)[: MOST_PEOPLE + 1])
    context = {
        "rows": [(row, _trades(row.trades), _last(row)) for row in rows[:MOST_PEOPLE]],
        "more": len(rows) > MOST_PEOPLE,
        "wanted_name": wanted,
        "waiting": [
            (row, _trades(row.trades), row.expires_at <= desk.now) for row in open_invitations(desk.site.pk)[:MOST_OPEN]
        ],
        "languages": settings.LANGUAGES,
        **_fields(desk, given or {"role": Role.CREW, "language": desk.person.language}, problem),
    }
    return draw(request, desk, PEOPLE, "desk/people.html", context, status=problem.status if problem else 200)


def _one(
    request: HttpRequest, desk: Desk, row: Membership, *, given: dict[str, Any], problem: Problem | None = None
) -> HttpResponse:
    context = {"row": row, "last": _last(row), **_fields(desk, given, problem)}
    return draw(request, desk, PEOPLE, "desk/person.html", context, status=problem.status if problem else 200)


def _fields(desk: Desk, given: dict[str, Any], problem: Problem | None) -> dict[str, Any]:
    """What the fields of a standing are drawn from: what was given, and what was wrong with it."""
    companies = Company.objects.filter(memberships__site=desk.site, memberships__ended_at=None).distinct()
    return {
        "given": given,
        "refused": problem,
        "wrong": {error.field: error.detail for error in problem.errors} if problem else {},
        "roles": Role.choices,
        "trades": Trade.choices,
        "companies": companies[:MOST_COMPANIES],
    }


def _given(request: HttpRequest) -> dict[str, Any]:
    texts = {name: request.POST.get(name, "")[:300] for name in ("email", "name", "language", "role", "company")}
    return texts | {"trades": request.POST.getlist("trade")[: len(Trade.values) + 1]}


def _standing(given: dict[str, Any]) -> Standing:
    return Standing(given["role"], given["company"], tuple(given["trades"]))


def _trades(codes: list[str]) -> list[str]:
    return [str(Trade(code).label) if code in Trade.values else code for code in codes]


def _last(row: Any) -> Any:
    """The later of a phone's and a browser's last sign of life; None for neither."""
    return max((at for at in (row.phone_seen_at, row.browser_seen_at) if at), default=None)


def _invitation(desk: Desk, row_id: UUID) -> Invitation:
    waiting = Invitation.objects.visible_to(desk.person).filter(site=desk.site)
    found: Invitation = get_object_or_404(waiting.select_related("site", "company", "made_by"), pk=row_id)
    return found
