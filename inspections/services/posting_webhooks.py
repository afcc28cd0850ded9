"""Posting the messages that are owed to webhooks: at least once, under the same id at every try.

A message is claimed before it is posted and marked after; no lock is held meanwhile. What fails waits longer each
time and is given up after some days, which the page says. One webhook that hangs does not use up another's turn.
"""

import json
import logging
from datetime import datetime, timedelta
from typing import Any

from django.db.models import F, Q

from inspections.models import Webhook, WebhookMessage
from inspections.models.mails import SendState
from inspections.services.webhooks import KeyChanged, secrets_of
from sitetrack.kit.backoff import GIVE_UP_AFTER, wait_after, wait_asked
from sitetrack.kit.clock import rfc3339
from sitetrack.kit.posting import NotPosted, post
from sitetrack.kit.signed_messages import signed_headers

MOST_AT_ONCE = 50
CLAIMED_FOR = timedelta(minutes=2)
GONE = 410  # RFC 9110, 15.5.11, from memory: it is there no more, on purpose
# A person at a page waits for so long; what is not taken by then is tried again by the workers.
WHILE_SOMEONE_WAITS = 4.0
log = logging.getLogger(__name__)


def webhooks_due(*, now: datetime) -> list[Any]:
    """The webhooks with a message that is due."""
    due = WebhookMessage.objects.filter(state=SendState.WAITING, next_try_at__lte=now, webhook__stopped_at=None)
    due = due.filter(Q(webhook__not_before=None) | Q(webhook__not_before__lte=now))
    return list(due.order_by().values_list("webhook", flat=True).distinct())


def post_due(*, webhook_id: Any, now: datetime) -> int:
    """Post what is due to one webhook, the oldest first, until one fails; returns how many were taken."""
    taken = 0
    due = WebhookMessage.objects.filter(webhook=webhook_id, state=SendState.WAITING, next_try_at__lte=now)
    for pk in list(due.order_by("next_try_at", "id").values_list("pk", flat=True)[:MOST_AT_ONCE]):
        message = post_message(message_id=pk, now=now)
        if message is not None and message.state != SendState.SENT:
            break
        taken += message is not None
    return taken


def post_message(*, message_id: Any, now: datetime, within: float | None = None) -> WebhookMessage | None:
    """Post one message that is due, in so many seconds at most, and note what came of it.

    None where another worker has it.
    """
    due = WebhookMessage.objects.filter(pk=message_id, state=SendState.WAITING, next_try_at__lte=now)
    if not due.update(next_try_at=now + CLAIMED_FOR, tries=F("tries") + 1, tried_at=now):
        return None
    message = WebhookMessage.objects.select_related("webhook", "site").get(pk=message_id)
    message.status = message.took_ms = None
    asked = timedelta(0)
    try:
        id_ = f"msg_{message.pk.hex}"
        body = body_of(message)
        headers = signed_headers(id_=id_, at=now, body=body, secrets=secrets_of(message.webhook, now))
        sent = {**headers, "Content-Type": "application/json", "User-Agent": "Sitetrack"}
        answer = post(url=message.webhook.url, body=body, headers=sent, within=within)
    except (NotPosted, KeyChanged) as error:
        message.error = str(error)[:200] or "the server's own key has changed: make a new secret"
    else:
        message.status, message.took_ms = answer.status, answer.took_ms
        message.error = "" if 200 <= answer.status < 300 else f"answered {answer.status}"
        asked = wait_asked(answer.retry_after, now) if message.error else asked
    _note(message, now, asked)
    return message


def body_of(message: WebhookMessage) -> bytes:
    """What is posted; the same bytes at every try."""
    told = {
        "id": f"msg_{message.pk.hex}",
        "type": message.event,
        "timestamp": rfc3339(message.happened_at),
        "data": message.data,
    }
    return json.dumps(told, ensure_ascii=False, separators=(",", ":"), sort_keys=True).encode()


def _note(message: WebhookMessage, now: datetime, asked: timedelta) -> None:
    if not message.error:
        message.state, message.settled_at = SendState.SENT, now
    elif message.status == GONE or now - message.owed_at >= GIVE_UP_AFTER:
        message.state, message.settled_at = SendState.FAILED, now
    else:
        message.next_try_at = now + max(wait_after(message.tries), asked)
    message.save(update_fields=["state", "settled_at", "next_try_at", "status", "took_ms", "error"])
    if message.error:
        log.warning("webhook message %s not taken, try %d", message.pk, message.tries)
    if asked:
        # What it can't take now, it can't take under another message's name either.
        Webhook.objects.filter(pk=message.webhook_id).update(not_before=now + asked)
    if message.status == GONE:
        Webhook.objects.filter(pk=message.webhook_id, stopped_at=None).update(
            stopped_at=now, stopped_why="it answered 410 Gone"
        )
