"""Weekly statuses that were issued: kept, so that what was handed out can always be handed out again."""

from django.db import models
from django.db.models import Q

from openings.models import Site
from sitetrack.access.scope import SiteScopedQuerySet
from sitetrack.kit.ids import new_id


class WeeklyStatus(models.Model):
    """The status of one site for one week, as issued. Never changed."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="weekly_statuses")
    iso_week = models.CharField(max_length=8, help_text="For example 2026-W09.")
    cut_off = models.DateTimeField()
    made_at = models.DateTimeField()
    digest = models.CharField(max_length=64, help_text="SHA-256 of its JSON.")
    figures = models.JSONField(default=dict, help_text="Of the site, by name: what the next week is compared with.")
    files = models.JSONField(help_text="By format: name in the media folder, size in bytes, SHA-256.")

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["site", "-cut_off"]
        verbose_name_plural = "weekly statuses"
        constraints = [
            models.UniqueConstraint(fields=["site", "iso_week"], name="one_status_per_site_and_week"),
            models.CheckConstraint(condition=~Q(digest=""), name="weekly_status_has_digest"),
        ]

    def __str__(self) -> str:
        return self.iso_week
