"""Sheet F-11: where the site's events are posted, whether they arrived, and secrets shown once."""

from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from inspections.models import Webhook, WebhookMessage
from inspections.models.mails import SendState
from inspections.services.posting_webhooks import WHILE_SOMEONE_WAITS, post_message
from inspections.services.webhooks import (
    BOTH_VALID_FOR,
    CHOSEN,
    add_webhook,
    owe_test,
    rotate_secret,
    send_message_again,
    stop_webhook,
)
from sitetrack.access.rights import Right, allows
from sitetrack.desk.setup import WEBHOOKS
from sitetrack.desk.sheets import Desk, draw, site_page
from sitetrack.desk.told import go_back, refused, told
from sitetrack.kit.problems import Problem

MOST_MESSAGES = 50
MOST_SHOWN = 40


@require_http_methods(["GET", "HEAD", "POST"])
@site_page
def webhooks(request: HttpRequest, desk: Desk) -> HttpResponse:
    """Every webhook of the site and its last messages; a POST adds one and shows its secret this once."""
    _must_manage(desk)
    if request.method != "POST":
        return _page(request, desk)
    url, events = request.POST.get("url", "").strip(), request.POST.getlist("event")[:10]
    try:
        webhook, secret = add_webhook(site=desk.site, url=url, events=events, who=desk.person, now=desk.now)
    except Problem as problem:
        given = {"url": url[:500], "events": events, "sentence": problem.detail}
        return _page(request, desk, given=given, status=problem.status)
    return _secret_page(request, desk, webhook, secret)


@require_POST
@site_page
def new_secret(request: HttpRequest, desk: Desk, webhook_id: UUID) -> HttpResponse:
    """A new secret, shown this once."""
    webhook = _webhook(desk, webhook_id)
    secret = rotate_secret(webhook=webhook, who=desk.person, now=desk.now)
    return _secret_page(request, desk, webhook, secret)


@require_POST
@site_page
def stop(request: HttpRequest, desk: Desk, webhook_id: UUID) -> HttpResponse:
    """Tell it nothing any more."""
    stop_webhook(webhook=_webhook(desk, webhook_id), who=desk.person, now=desk.now)
    told(request, _("Stopped."))
    return go_back(request, _address(desk))


@require_POST
@site_page
def test(request: HttpRequest, desk: Desk, webhook_id: UUID) -> HttpResponse:
    """Post a message that tells nothing, now, and say what came back."""
    try:
        message = owe_test(webhook=_webhook(desk, webhook_id), who=desk.person, now=desk.now)
    except Problem as problem:
        refused(request, problem)
        return go_back(request, _address(desk))
    return _posted(request, desk, message)


@require_POST
@site_page
def again(request: HttpRequest, desk: Desk, message_id: UUID) -> HttpResponse:
    """Post a message once more, now."""
    _must_manage(desk)
    messages = WebhookMessage.objects.visible_to(desk.person).filter(site=desk.site).select_related("webhook")
    message = get_object_or_404(messages, pk=message_id)
    try:
        message = send_message_again(message=message, who=desk.person, now=desk.now)
    except Problem as problem:
        refused(request, problem)
        return go_back(request, _address(desk))
    return _posted(request, desk, message)


def _posted(request: HttpRequest, desk: Desk, message: WebhookMessage) -> HttpResponse:
    result = post_message(message_id=message.pk, now=desk.now, within=WHILE_SOMEONE_WAITS)
    if result is not None and result.state == SendState.SENT:
        told(
            request,
            _("It arrived: answered %(status)s in %(ms)s ms.") % {"status": result.status, "ms": result.took_ms},
        )
    else:
        refused(request, Problem(_("It did not arrive: %(why)s.") % {"why": result.error if result else "?"}))
    return go_back(request, _address(desk))


def _secret_page(request: HttpRequest, desk: Desk, webhook: Webhook, secret: str) -> HttpResponse:
    context = {"webhook": webhook, "secret": secret, "days": BOTH_VALID_FOR.days}
    answer = draw(request, desk, WEBHOOKS, "desk/webhook_secret.html", context)
    answer["Cache-Control"] = "no-store"
    return answer


def _page(request: HttpRequest, desk: Desk, *, given: dict[str, Any] | None = None, status: int = 200) -> HttpResponse:
    hooks = Webhook.objects.visible_to(desk.person).filter(site=desk.site).select_related("made_by").order_by("-id")
    messages = WebhookMessage.objects.visible_to(desk.person).filter(site=desk.site).select_related("webhook")
    context = {
        "hooks": hooks[:MOST_SHOWN],
        "messages_owed": messages.order_by("-id")[:MOST_MESSAGES],
        "events": [str(event) for event in CHOSEN],
        "given": given or {"url": "", "events": [str(event) for event in CHOSEN], "sentence": ""},
    }
    return draw(request, desk, WEBHOOKS, "desk/webhooks.html", context, status=status)


def _must_manage(desk: Desk) -> None:
    if not allows(desk.membership.role, Right.MANAGE_OUTSIDE):
        raise Http404("What is sent outside is the supervisor's.")


def _webhook(desk: Desk, webhook_id: UUID) -> Webhook:
    _must_manage(desk)
    webhook: Webhook = get_object_or_404(Webhook.objects.visible_to(desk.person).filter(site=desk.site), pk=webhook_id)
    return webhook


def _address(desk: Desk) -> str:
    return reverse("setup:webhooks", args=[desk.site.code])
