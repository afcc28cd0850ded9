"""Openings picked for one errand: a cart to load, labels to print, a walk, a work order."""

from django.db import models

from openings.models.sites import Site
from sitetrack.access.models.people import Person
from sitetrack.access.scope import SiteScopedQuerySet
from sitetrack.kit.ids import new_id


class OpeningList(models.Model):
    """Openings a person picked, so that one address leads to all that is made for them. Never changed."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    openings = models.JSONField(help_text="Ids of the openings, in the order they are walked.")
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-id"]
        indexes = [models.Index(fields=["site", "made_by", "-made_at"])]
