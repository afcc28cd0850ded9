"""Webhooks: where a site's events are posted, the secrets they are signed with, and the messages owed."""

from django.db import models
from django.db.models import Q

from inspections.models.mails import SendState
from openings.models import Site
from sitetrack.access.models import Person
from sitetrack.access.scope import SupervisedQuerySet
from sitetrack.kit.ids import new_id


class Event(models.TextChoices):
    """What a message tells. The words are an interface: those who listen compare them."""

    ALERT_RAISED = "alert.raised"
    ALERT_CLOSED = "alert.closed"
    SNAPSHOT_MADE = "snapshot.made"
    TEST = "test"


class Webhook(models.Model):
    """An address outside that is told of a site's events."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="webhooks")
    url = models.CharField(max_length=500)
    events = models.JSONField(help_text="The events it is told of.")
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    stopped_at = models.DateTimeField(null=True, blank=True)
    stopped_why = models.CharField(max_length=200, blank=True)
    not_before = models.DateTimeField(null=True, blank=True, help_text="Until when it asked to be left alone.")

    objects = SupervisedQuerySet.as_manager()

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["site", "stopped_at"])]

    def __str__(self) -> str:
        return self.url


class WebhookSecret(models.Model):
    """A secret of a webhook, not itself: it follows from `salt` and the server's own key, and `check_digest` proves it.

    A copy of the data base alone signs nothing. One without `ends_at` is the present one.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    webhook = models.ForeignKey(Webhook, on_delete=models.CASCADE, related_name="secrets")
    salt = models.CharField(max_length=64)
    check_digest = models.CharField(max_length=64)
    made_at = models.DateTimeField()
    ends_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at"]
        constraints = [
            models.UniqueConstraint(fields=["webhook"], condition=Q(ends_at=None), name="one_secret_per_webhook")
        ]


class WebhookMessage(models.Model):
    """One event owed to one webhook. Written with its cause, posted afterwards, under the same id at every try."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    webhook = models.ForeignKey(Webhook, on_delete=models.CASCADE, related_name="messages")
    event = models.CharField(max_length=20, help_text="One of `Event`.")
    happened_at = models.DateTimeField()
    data = models.JSONField()
    state = models.CharField(max_length=9, choices=SendState, default=SendState.WAITING)
    tries = models.PositiveIntegerField(default=0)
    owed_at = models.DateTimeField(help_text="Since when it is tried; moves when a person sends it again.")
    next_try_at = models.DateTimeField()
    tried_at = models.DateTimeField(null=True, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    status = models.PositiveSmallIntegerField(null=True, blank=True, help_text="What the last try was answered with.")
    took_ms = models.PositiveIntegerField(null=True, blank=True)
    error = models.CharField(max_length=200, blank=True)

    objects = SupervisedQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(condition=Q(state__in=SendState.values), name="webhook_message_state_known")
        ]
        indexes = [
            models.Index(fields=["state", "next_try_at"]),
            models.Index(fields=["webhook", "-id"]),
        ]
