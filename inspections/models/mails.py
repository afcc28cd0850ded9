"""Mails that are owed, one row for each address, and what each person wishes to be told."""

from django.db import models
from django.db.models import Q

from openings.models import Site
from sitetrack.access.models import Person
from sitetrack.access.scope import SupervisedQuerySet
from sitetrack.kit.ids import new_id


class Wish(models.TextChoices):
    """How a person wishes to be told of the alerts of one site."""

    AT_ONCE = "at once", "critical alerts at once, the rest once a day"
    DAILY = "daily", "everything once a day"
    NEVER = "never", "nothing"


class MailWish(models.Model):
    """What a person chose for one site; who chose nothing is told as their role is, see services/mail_wishes.py."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    wish = models.CharField(max_length=8, choices=Wish)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["site", "person"], name="one_wish_per_site_and_person"),
            models.CheckConstraint(condition=Q(wish__in=Wish.values), name="mail_wish_known"),
        ]


class SendState(models.TextChoices):
    """Where something that is owed to somebody outside stands."""

    WAITING = "waiting", "waiting"
    SENT = "sent", "sent"
    FAILED = "failed", "given up"
    WITHDRAWN = "withdrawn", "not needed any more"


class Mail(models.Model):
    """One mail owed to one address. `key` names what it tells, so that the same is never owed twice.

    What it says is put together when it is sent, from `about` and from how things stand then.
    """

    class Kind(models.TextChoices):
        ALERT = "alert", "critical alert"
        DIGEST = "digest", "alerts of the day"
        STATUS = "status", "weekly status"
        ANCHOR = "anchor", "end of the sealed record"

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    kind = models.CharField(max_length=8, choices=Kind)
    key = models.CharField(max_length=120, unique=True)
    address = models.EmailField()
    person = models.ForeignKey(Person, null=True, blank=True, on_delete=models.CASCADE, related_name="+")
    about = models.JSONField(default=dict)
    owed_at = models.DateTimeField()
    state = models.CharField(max_length=9, choices=SendState, default=SendState.WAITING)
    tries = models.PositiveIntegerField(default=0)
    next_try_at = models.DateTimeField()
    settled_at = models.DateTimeField(null=True, blank=True)
    error = models.CharField(max_length=200, blank=True)

    objects = SupervisedQuerySet.as_manager()

    class Meta:
        ordering = ["id"]
        constraints = [models.CheckConstraint(condition=Q(state__in=SendState.values), name="mail_state_known")]
        indexes = [
            models.Index(fields=["state", "next_try_at"]),
            models.Index(fields=["site", "kind", "person", "owed_at"]),
        ]
