"""Alerts: what went wrong, with its evidence."""

from django.db import models
from django.db.models import Q

from openings.models import Opening, Site
from sitetrack.access.models import Person
from sitetrack.access.scope import SiteScopedQuerySet
from sitetrack.kit.ids import new_id


class Severity(models.TextChoices):
    """How much an alert weighs."""

    CRITICAL = "critical", "critical"
    WARNING = "warning", "warning"
    NOTICE = "notice", "notice"


class ClosedHow(models.TextChoices):
    """What closed an alert."""

    EVIDENCE = "evidence", "closed by evidence"
    PLAN = "plan", "closed by a change of the sequence plan"
    PERSON = "person", "closed by a person"


class Alert(models.Model):
    """One thing that went wrong. Idempotent on (opening, rule, cause): the same finding never makes a second one.

    `cause` names what set it off (a check-in's id, a hold's id). Alerts are closed, never deleted.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="alerts")
    opening = models.ForeignKey(Opening, null=True, blank=True, on_delete=models.PROTECT, related_name="alerts")
    rule = models.CharField(max_length=40)
    cause = models.CharField(max_length=120)
    severity = models.CharField(max_length=8, choices=Severity)
    opened_at = models.DateTimeField(help_text="When the server first saw it.")
    happened_at = models.DateTimeField(help_text="When it went wrong, by corrected time.")
    evidence = models.JSONField(default=dict)
    acknowledged_at = models.DateTimeField(null=True, blank=True)
    acknowledged_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_how = models.CharField(max_length=8, choices=ClosedHow, blank=True)
    closed_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    closed_why = models.TextField(blank=True)
    reopened_at = models.DateTimeField(null=True, blank=True, help_text="When evidence last opened it again.")
    sent_at = models.DateTimeField(null=True, blank=True, help_text="When its mails were put among those owed.")
    seq = models.BigIntegerField(default=0, editable=False)

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["opening", "rule", "cause"], condition=Q(opening__isnull=False), name="alert_once_per_opening"
            ),
            models.UniqueConstraint(
                fields=["site", "rule", "cause"], condition=Q(opening=None), name="alert_once_per_site"
            ),
            models.CheckConstraint(condition=Q(severity__in=Severity.values), name="alert_severity_known"),
            models.CheckConstraint(
                condition=Q(closed_at=None, closed_how="")
                | Q(closed_at__isnull=False, closed_how__in=["evidence", "plan"])
                | (Q(closed_at__isnull=False, closed_how="person", closed_by__isnull=False) & ~Q(closed_why="")),
                name="alert_closed_by_evidence_or_a_named_person",
            ),
        ]
        indexes = [models.Index(fields=["site", "closed_at", "rule"]), models.Index(fields=["site", "seq"])]

    def __str__(self) -> str:
        return f"{self.rule} {self.opening or ''}".strip()
