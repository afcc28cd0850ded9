"""Photos: which check-ins name them, and those that have come."""

from django.db import models

from inspections.models.checkins import CheckIn
from openings.models import Site
from sitetrack.access.models import Company, Person
from sitetrack.access.scope import CompanyScopedQuerySet


class Photo(models.Model):
    """A photo that has come. Its address is the digest of what was sent; what is kept was drawn anew from that.

    The row is written after the file: where there is a row there is a picture.
    """

    digest = models.CharField(primary_key=True, max_length=64, help_text="SHA-256 of the bytes as sent.")
    sent_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField()
    width = models.PositiveIntegerField(help_text="Pixels, as kept.")
    height = models.PositiveIntegerField()
    size = models.PositiveIntegerField(help_text="Bytes, as kept.")

    class Meta:
        ordering = ["digest"]


class CheckInPhoto(models.Model):
    """A check-in names a photo, which may come later or never. Who may see the check-in may see the photo."""

    check_in = models.ForeignKey(CheckIn, on_delete=models.PROTECT, related_name="named_photos")
    digest = models.CharField(max_length=64)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    company = models.ForeignKey(Company, on_delete=models.PROTECT, related_name="+")

    objects = CompanyScopedQuerySet.as_manager()

    class Meta:
        ordering = ["id"]
        constraints = [models.UniqueConstraint(fields=["check_in", "digest"], name="photo_once_per_check_in")]
        indexes = [models.Index(fields=["digest"])]
