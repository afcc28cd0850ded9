"""The sealed record: what was judged, signed and taken back on a site, chained in the order it was stored."""

from django.db import models
from django.db.models import Q

from openings.models import Site
from sitetrack.access.scope import SiteScopedQuerySet


class SealedEntry(models.Model):
    """One link: the digest of what was stored, and of the link before it. Only ever added to.

    `subject` is no foreign key: the link must outlive what it seals, so that a check-in removed behind the server's
    back can still be named.
    """

    class Kind(models.TextChoices):
        CHECK = "check", "check judged"
        SIGNATURE = "signature", "signature"
        VOID = "void", "taken back"

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+", db_index=False)  # the constraint does
    n = models.PositiveBigIntegerField(help_text="From 1 on each site, without a gap.")
    kind = models.CharField(max_length=10, choices=Kind)
    subject = models.UUIDField(unique=True, help_text="The check-in sealed.")
    opening_number = models.CharField(max_length=40, help_text="As it was called then.")
    stage = models.CharField(max_length=40)
    sealed_at = models.DateTimeField()
    content_digest = models.CharField(max_length=64)
    digest_before = models.CharField(max_length=64, blank=True)
    digest = models.CharField(max_length=64, unique=True)

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["site", "n"]
        verbose_name_plural = "sealed entries"
        constraints = [
            models.UniqueConstraint(fields=["site", "n"], name="sealed_entry_number_once_per_site"),
            models.CheckConstraint(
                condition=Q(kind__in=["check", "signature", "void"]), name="sealed_entry_kind_known"
            ),
        ]
