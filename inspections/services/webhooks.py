"""Setting up webhooks: where a site's events are posted, and the secrets they are signed with.

A secret is not kept: it follows from a random salt and the server's own key, so that a copy of the data base alone
signs nothing. Where that key has changed since, `secrets_of` says so instead of signing wrongly.
"""

import hashlib
import hmac
import secrets
from collections.abc import Collection
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from inspections.models import Webhook, WebhookMessage, WebhookSecret
from inspections.models.mails import SendState
from inspections.models.webhooks import Event
from openings.models import Site
from sitetrack.access.models import Person
from sitetrack.access.models.changes import Act, Kind
from sitetrack.access.rights import Right, must
from sitetrack.access.services.trail import record_change
from sitetrack.kit.posting import NotPosted, checked_url
from sitetrack.kit.problems import BadInput, Conflict, FieldError
from sitetrack.kit.signed_messages import shown_secret

MOST_WEBHOOKS = 10
# Long enough to carry the new secret to whoever receives, over a weekend. Chosen here.
BOTH_VALID_FOR = timedelta(days=3)
CHOSEN = (Event.ALERT_RAISED, Event.ALERT_CLOSED, Event.SNAPSHOT_MADE)


class KeyChanged(Exception):  # noqa: N818 - it says what happened
    """The server's own key is another than when the secret was made."""


@transaction.atomic
def add_webhook(*, site: Site, url: str, events: Collection[str], who: Person, now: datetime) -> tuple[Webhook, str]:
    """A new webhook and its secret, which is shown this once; raises `BadInput` naming the field."""
    must(who, site.pk, Right.MANAGE_OUTSIDE)
    Site.objects.select_for_update().get(pk=site.pk)
    try:
        checked_url(url)
    except NotPosted as error:
        raise BadInput(
            _("This address can't be posted to: %(why)s.") % {"why": error},
            errors=[FieldError("url", str(error), url[:80], "https://…", "https://hooks.example.com/frames")],
        ) from error
    if not events or not set(events) <= set(CHOSEN):
        raise BadInput(_("Choose what is told."), errors=[FieldError("events", "none, or one that there is not")])
    if Webhook.objects.filter(site=site, stopped_at=None).count() >= MOST_WEBHOOKS:
        raise Conflict(_("A site has %(most)d webhooks at most. Stop one first.") % {"most": MOST_WEBHOOKS})
    webhook = Webhook.objects.create(site=site, url=url, events=sorted(events), made_at=now, made_by=who)
    secret = _new_secret(webhook, now)
    record_change(
        site=site, who=who, now=now, kind=Kind.WEBHOOK, act=Act.ADDED, about=webhook,
        differences={"events": ("", sorted(events))},
    )  # fmt: skip
    return webhook, secret


@transaction.atomic
def rotate_secret(*, webhook: Webhook, who: Person, now: datetime) -> str:
    """A new secret, shown this once; the one before stays valid for some days beside it."""
    webhook = _locked(webhook, who)
    for row in webhook.secrets.filter(Q(ends_at=None) | Q(ends_at__gt=now)):
        if not _is_ours(row):
            row.ends_at = now  # made under another key of the server's: it can't sign any more
        elif row.ends_at is None:
            row.ends_at = now + BOTH_VALID_FOR
        row.save(update_fields=["ends_at"])
    secret = _new_secret(webhook, now)
    record_change(
        site=webhook.site, who=who, now=now, kind=Kind.WEBHOOK, act=Act.CHANGED, about=webhook,
        differences={"secret": ("", "made anew")},
    )  # fmt: skip
    return secret


@transaction.atomic
def stop_webhook(*, webhook: Webhook, who: Person, now: datetime) -> Webhook:
    """Tell it nothing any more; what it was told stays on the list."""
    webhook = _locked(webhook, who)
    if webhook.stopped_at is None:
        webhook.stopped_at = now
        webhook.save(update_fields=["stopped_at"])
        waiting = webhook.messages.filter(state=SendState.WAITING)
        waiting.update(state=SendState.WITHDRAWN, settled_at=now)
        record_change(site=webhook.site, who=who, now=now, kind=Kind.WEBHOOK, act=Act.STOPPED, about=webhook)
    return webhook


@transaction.atomic
def owe_test(*, webhook: Webhook, who: Person, now: datetime) -> WebhookMessage:
    """Owe a message that tells nothing, to see whether it arrives."""
    webhook = _locked(webhook, who)
    if webhook.stopped_at is not None:
        raise Conflict(_("This webhook is stopped."))
    record_change(site=webhook.site, who=who, now=now, kind=Kind.WEBHOOK, act=Act.SENT, about=webhook)
    return WebhookMessage.objects.create(
        site=webhook.site, webhook=webhook, event=Event.TEST, happened_at=now, data={"site": webhook.site.code},
        owed_at=now, next_try_at=now,
    )  # fmt: skip


@transaction.atomic
def send_message_again(*, message: WebhookMessage, who: Person, now: datetime) -> WebhookMessage:
    """Owe a message once more, under its own id."""
    webhook = _locked(message.webhook, who)
    if webhook.stopped_at is not None:
        raise Conflict(_("This webhook is stopped."))
    message.state, message.tries, message.owed_at, message.next_try_at = SendState.WAITING, 0, now, now
    message.settled_at = None
    message.save(update_fields=["state", "tries", "owed_at", "next_try_at", "settled_at"])
    record_change(site=webhook.site, who=who, now=now, kind=Kind.WEBHOOK, act=Act.SENT, about=webhook)
    return message


def secrets_of(webhook: Webhook, now: datetime) -> list[bytes]:
    """The secrets valid now, the newest first; raises `KeyChanged`."""
    found = []
    for row in webhook.secrets.filter(Q(ends_at=None) | Q(ends_at__gt=now)).order_by("-made_at"):
        if not _is_ours(row):
            raise KeyChanged
        found.append(_secret(row.salt))
    return found


def _locked(webhook: Webhook, who: Person) -> Webhook:
    must(who, webhook.site_id, Right.MANAGE_OUTSIDE)
    found: Webhook = Webhook.objects.select_for_update(of=("self",)).select_related("site").get(pk=webhook.pk)
    return found


def _new_secret(webhook: Webhook, now: datetime) -> str:
    salt = secrets.token_hex(32)
    secret = _secret(salt)
    WebhookSecret.objects.create(webhook=webhook, salt=salt, check_digest=_check_digest(secret), made_at=now)
    return shown_secret(secret)


def _secret(salt: str) -> bytes:
    return hmac.digest(settings.SECRET_KEY.encode(), f"webhook:{salt}".encode(), hashlib.sha256)


def _is_ours(row: WebhookSecret) -> bool:
    """Whether the server's own key still gives the secret that was shown."""
    return hmac.compare_digest(_check_digest(_secret(row.salt)), row.check_digest)


def _check_digest(secret: bytes) -> str:
    return hashlib.sha256(b"check:" + secret).hexdigest()
