"""Part of the set-up: who is mailed the weekly status and the end of the sealed record."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from inspections.models import Mail
from sitetrack.access.models.changes import Act
from sitetrack.access.rights import Right, allows
from sitetrack.desk.setup import MAILING
from sitetrack.desk.sheets import Desk, draw, site_page
from sitetrack.desk.told import Undo, go_back, told, undone
from sitetrack.kit.problems import Problem
from sitetrack.reports.mailing_list import MOST_READERS, Entry, add_reader, companies_of, remove_reader
from sitetrack.reports.models import Reader

LONGEST = 300
MOST_MAILS = 4 * MOST_READERS


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def mailing(request: HttpRequest, desk: Desk) -> HttpResponse:
    """The list; a POST adds an address, and a refused one is shown again as it was typed."""
    _must_manage(desk)
    if request.method != "POST":
        return _page(request, desk, Entry(""))
    entry = _typed(request.POST)
    try:
        add_reader(site=desk.site, entry=entry, who=desk.person, now=desk.now)
    except Problem as problem:
        return _page(request, desk, entry, problem)
    told(request, _("%(address)s is on the list.") % {"address": entry.email})
    return go_back(request, _address(desk))


@require_POST
@site_page
def remove(request: HttpRequest, desk: Desk, reader_id: int) -> HttpResponse:
    """Take an address off the list; the Undo puts it back."""
    _must_manage(desk)
    reader = get_object_or_404(Reader.objects.visible_to(desk.person).filter(site=desk.site), pk=reader_id)
    entry = remove_reader(reader=reader, who=desk.person, now=desk.now)
    fields = {name: str(value or "") for name, value in asdict(entry).items()}
    undo = Undo(reverse("setup:mailing-restore", args=[desk.site.code]), fields)
    told(request, _("%(address)s is off the list.") % {"address": entry.email}, undo=undo)
    return go_back(request, _address(desk))


@require_POST
@site_page
def restore(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Put back an address that was taken off."""
    _must_manage(desk)
    entry = _typed(request.POST)
    return undone(
        request,
        lambda: add_reader(site=desk.site, entry=entry, who=desk.person, now=desk.now, act=Act.RESTORED),
        said=_("%(address)s is on the list.") % {"address": entry.email},
        back=_address(desk),
    )


def _typed(form: Mapping[str, str]) -> Entry:
    said = {name: form.get(name, "").strip()[:LONGEST] for name in ("email", "company", "language", "paper")}
    return Entry(**said, gets_status=bool(form.get("gets_status")), gets_anchor=bool(form.get("gets_anchor")))


def _page(request: HttpRequest, desk: Desk, entry: Entry, problem: Problem | None = None) -> HttpResponse:
    readers = Reader.objects.visible_to(desk.person).filter(site=desk.site).select_related("company")[:MOST_READERS]
    context: dict[str, Any] = {
        "lines": [(reader, mail) for reader, mail in _with_last_mail(desk, list(readers))],
        "entry": entry,
        "companies": companies_of(desk.site),
        "languages": settings.LANGUAGES,
        "papers": Reader.Paper.choices,
        "refused": problem.detail if problem else "",
        "wrong": {error.field for error in problem.errors} if problem else set(),
        "has_server": bool(settings.EMAIL_HOST),
    }
    return draw(request, desk, MAILING, "desk/mailing.html", context, status=problem.status if problem else 200)


def _with_last_mail(desk: Desk, readers: list[Reader]) -> list[tuple[Reader, Mail | None]]:
    """Each reader with the mail owed to them last. One query."""
    mails = Mail.objects.visible_to(desk.person).filter(site=desk.site, kind__in=[Mail.Kind.STATUS, Mail.Kind.ANCHOR])
    last: dict[int, Mail] = {}
    for mail in mails.order_by("-owed_at", "-id")[:MOST_MAILS]:
        last.setdefault(mail.about["reader"], mail)
    return [(reader, last.get(reader.pk)) for reader in readers]


def _must_manage(desk: Desk) -> None:
    if not allows(desk.membership.role, Right.MANAGE_OUTSIDE):
        raise Http404("What is sent outside is the supervisor's.")


def _address(desk: Desk) -> str:
    return reverse("setup:mailing", args=[desk.site.code])
