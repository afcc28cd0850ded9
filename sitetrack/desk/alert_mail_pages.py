"""Part of sheet F-4: how one is told of alerts by mail, and what could not be mailed."""

from uuid import UUID

from django.conf import settings
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from inspections.models import Mail
from inspections.models.mails import SendState
from inspections.services.mail_outbox import send_mail_again
from inspections.services.mail_wishes import choose_wish, wish_of
from sitetrack.access.rights import Right, allows
from sitetrack.desk.sheets import ALERTS, Desk, draw, site_page
from sitetrack.desk.told import go_back, refused, told
from sitetrack.desk.words import TABLES
from sitetrack.kit.problems import Problem

MOST_FAILED = 100


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def alert_mail(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Choose how one is told; a supervisor also sees whom no mail reached."""
    problem: Problem | None = None
    if request.method == "POST":
        try:
            choose_wish(site=desk.site, wish=request.POST.get("wish", ""), who=desk.person, now=desk.now)
        except Problem as caught:
            problem = caught
        else:
            told(request, _("Kept."))
            return go_back(request, reverse("desk:alert-mail", args=[desk.site.code]))
    mails = Mail.objects.visible_to(desk.person).filter(site=desk.site)
    failed = mails.filter(Q(state=SendState.FAILED) | Q(state=SendState.WAITING, tries__gt=0)).exclude(error="")
    context = {
        "wish": wish_of(desk.site.pk, desk.person),
        "wishes": TABLES["wish"].items(),
        "has_server": bool(settings.EMAIL_HOST),
        "manages": allows(desk.membership.role, Right.MANAGE_OUTSIDE),
        "failed": failed.order_by("-owed_at")[:MOST_FAILED],
        "refused": problem.detail if problem else "",
        "here": "mail",
    }
    return draw(request, desk, ALERTS, "desk/alert_mail.html", context, status=problem.status if problem else 200)


@require_POST
@site_page
def mail_again(request: HttpRequest, desk: Desk, mail_id: UUID) -> HttpResponse:
    """Owe a mail that was given up once more."""
    mail = get_object_or_404(Mail.objects.visible_to(desk.person).filter(site=desk.site), pk=mail_id)
    try:
        send_mail_again(mail=mail, who=desk.person, now=desk.now)
    except Problem as problem:
        refused(request, problem)
    else:
        told(request, _("It is sent with the next mails."))
    return go_back(request, reverse("desk:alert-mail", args=[desk.site.code]))
