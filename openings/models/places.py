"""Buildings and floors."""

from django.db import models

from openings.models.sites import Site
from sitetrack.access.scope import SiteScopedQuerySet
from sitetrack.kit.fields import LengthField
from sitetrack.kit.ids import new_id


class Building(models.Model):
    """A building of the site."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="buildings")
    code = models.CharField(max_length=20)
    name = models.CharField(max_length=120, blank=True)

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [models.UniqueConstraint(fields=["site", "code"], name="building_code_once_per_site")]

    def __str__(self) -> str:
        return self.name or self.code


class Floor(models.Model):
    """A floor of a building; walked in the order of `level`."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="floors")
    building = models.ForeignKey(Building, on_delete=models.PROTECT, related_name="floors")
    code = models.CharField(max_length=20)
    name = models.CharField(max_length=120, blank=True)
    level = models.IntegerField(default=0, help_text="Lowest floor first.")
    elevation = LengthField(null=True, blank=True)
    due_on = models.DateField(null=True, blank=True, help_text="When every frame of the floor is to be proved.")

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["building__code", "level", "code"]
        constraints = [models.UniqueConstraint(fields=["building", "code"], name="floor_code_once_per_building")]

    def __str__(self) -> str:
        return self.name or self.code
