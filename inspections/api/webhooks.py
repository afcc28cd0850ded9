"""Webhooks over the API: where a site's events are posted, their secrets, and what became of each message."""

from typing import Any

import django_filters
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.models import Webhook, WebhookMessage
from inspections.models.mails import SendState
from inspections.models.webhooks import Event
from inspections.services.posting_webhooks import WHILE_SOMEONE_WAITS, post_message
from inspections.services.webhooks import CHOSEN, add_webhook, owe_test, rotate_secret, send_message_again, stop_webhook
from openings.api.sites import site_asked
from sitetrack.access.api.asking import asking, device_of
from sitetrack.access.models import Device
from sitetrack.kit.api import ScopedViewSet
from sitetrack.kit.clock import now
from sitetrack.kit.filters import MomentFilter, YesNoFilter
from sitetrack.kit.posting import LONGEST_URL
from sitetrack.kit.problems import Forbidden
from sitetrack.kit.shapes import AnswerSerializer

NO_STORE = {"Cache-Control": "no-store"}


class WebhookAnswer(AnswerSerializer):
    """An address that is told of a site's events. `not_before`: until when it asked to be left alone."""

    events = serializers.ListField(child=serializers.ChoiceField(choices=Event.values), read_only=True)

    class Meta:
        model = Webhook
        fields = ["id", "site", "url", "events", "made_at", "made_by", "stopped_at", "stopped_why", "not_before"]


class WebhookWish(serializers.Serializer[Any]):
    """Where to post what."""

    site = serializers.UUIDField()
    url = serializers.CharField(max_length=LONGEST_URL, help_text="Begins with https://, and is public.")
    events = serializers.ListField(
        child=serializers.ChoiceField(choices=[str(event) for event in CHOSEN]), min_length=1, max_length=len(CHOSEN)
    )


class SecretAnswer(serializers.Serializer[Any]):
    """A webhook and its new secret, shown this once (Standard Webhooks, `whsec_` and base64)."""

    webhook = WebhookAnswer(read_only=True)
    secret = serializers.CharField(read_only=True)


class WebhookMessageAnswer(AnswerSerializer):
    """One event owed to one webhook, and what became of it.

    `data` is what is told: no person, no reading. `status` is what the last try was answered with.
    """

    state = serializers.ChoiceField(choices=SendState.values, read_only=True)

    class Meta:
        model = WebhookMessage
        fields = [
            "id", "site", "webhook", "event", "happened_at", "data", "state", "tries", "owed_at", "next_try_at",
            "tried_at", "settled_at", "status", "took_ms", "error",
        ]  # fmt: skip


class WebhookFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    stopped = YesNoFilter(field_name="stopped_at", lookup_expr="isnull", exclude=True)

    class Meta:
        model = Webhook
        fields: list[str] = []


class WebhookMessageFilter(django_filters.FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    webhook = django_filters.UUIDFilter(field_name="webhook_id")
    event = django_filters.ChoiceFilter(choices=Event.choices)
    state = django_filters.ChoiceFilter(choices=SendState.choices)
    happened_after = MomentFilter(field_name="happened_at", lookup_expr="gt")

    class Meta:
        model = WebhookMessage
        fields: list[str] = []


@extend_schema_view(list=extend_schema(summary="Webhooks"), retrieve=extend_schema(summary="One webhook"))
class WebhookViewSet(ScopedViewSet):
    """Where a site's events are posted; its supervisors' business alone."""

    queryset = Webhook.objects.all()
    serializer_class = WebhookAnswer
    filterset_class = WebhookFilter

    @extend_schema(
        operation_id="webhooks_make",
        summary="Have events posted to an address",
        request=WebhookWish,
        responses={201: SecretAnswer},
        examples=[
            OpenApiExample(
                "alerts",
                {
                    "site": "0192f0c1-2d3e-7a4b-8c5d-6e7f80910213",
                    "url": "https://hooks.example.com/frames",
                    "events": ["alert.raised", "alert.closed"],
                },
                request_only=True,
            )
        ],
    )
    def create(self, request: Request) -> Response:
        """For supervisors, signed in or with a program's token. The secret is shown now and never again."""
        asked = WebhookWish(data=request.data)
        asked.is_valid(raise_exception=True)
        given = asked.validated_data
        _must_not_be_a_phone(request)
        site = site_asked(request, given["site"])
        events = set(given["events"])
        webhook, secret = add_webhook(site=site, url=given["url"], events=events, who=asking(request), now=now())
        return Response(SecretAnswer({"webhook": webhook, "secret": secret}).data, status=201, headers=NO_STORE)

    @extend_schema(operation_id="webhooks_rotate", summary="Make a new secret", request=None, responses=SecretAnswer)
    @action(detail=True, methods=["post"])
    def rotate(self, request: Request, **kwargs: Any) -> Response:
        """Shown now and never again. The one before stays valid for three days beside it."""
        _must_not_be_a_phone(request)
        webhook = self.get_object()
        secret = rotate_secret(webhook=webhook, who=asking(request), now=now())
        return Response(SecretAnswer({"webhook": webhook, "secret": secret}).data, headers=NO_STORE)

    @extend_schema(operation_id="webhooks_stop", summary="Tell it nothing more", request=None, responses=WebhookAnswer)
    @action(detail=True, methods=["post"])
    def stop(self, request: Request, **kwargs: Any) -> Response:
        """What it was told stays on the list; what it is still owed is withdrawn."""
        webhook = self.get_object()
        self.check_match(webhook, required=False)
        return self.answer(stop_webhook(webhook=webhook, who=asking(request), now=now()))

    @extend_schema(
        operation_id="webhooks_test", summary="Post a message that tells nothing", request=None,
        responses=WebhookMessageAnswer,
    )  # fmt: skip
    @action(detail=True, methods=["post"])
    def test(self, request: Request, **kwargs: Any) -> Response:
        """Answers what came of it within seconds; what did not arrive by then is tried again."""
        _must_not_be_a_phone(request)
        message = owe_test(webhook=self.get_object(), who=asking(request), now=now())
        return _posted(message)


@extend_schema_view(
    list=extend_schema(
        summary="Messages owed to webhooks", description="`?state=failed&webhook=<id>` answers what was given up."
    ),
    retrieve=extend_schema(summary="One message"),
)
class WebhookMessageViewSet(ScopedViewSet):
    """What was told outside and whether it arrived; kept for two months."""

    queryset = WebhookMessage.objects.select_related("webhook")
    serializer_class = WebhookMessageAnswer
    filterset_class = WebhookMessageFilter
    ordering_fields = ("id", "happened_at")

    @extend_schema(
        operation_id="webhook_messages_again", summary="Post a message once more", request=None,
        responses=WebhookMessageAnswer,
    )  # fmt: skip
    @action(detail=True, methods=["post"])
    def again(self, request: Request, **kwargs: Any) -> Response:
        """Under its own id, so that whoever receives knows it. Answers what came of it within seconds."""
        _must_not_be_a_phone(request)
        message = send_message_again(message=self.get_object(), who=asking(request), now=now())
        return _posted(message)


def _posted(message: WebhookMessage) -> Response:
    posted = post_message(message_id=message.pk, now=now(), within=WHILE_SOMEONE_WAITS)
    return Response(WebhookMessageAnswer(posted or WebhookMessage.objects.get(pk=message.pk)).data)


def _must_not_be_a_phone(request: Request) -> None:
    """A phone is lost more easily than a desk, and an address it had set up would outlive its own revocation."""
    device = device_of(request)
    if device is not None and device.kind == Device.Kind.PHONE:
        raise Forbidden("Webhooks are set up signed in at a browser or with a program's token, not with a phone's.")
