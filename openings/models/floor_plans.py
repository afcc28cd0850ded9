"""A floor's plan as a picture, and where it lies on the floor."""

from django.db import models
from django.db.models import Q

from openings.models.places import Floor
from openings.models.sites import Site
from sitetrack.access.models.people import Person
from sitetrack.access.scope import SiteScopedQuerySet
from sitetrack.kit.fields import LengthField


class FloorPlan(models.Model):
    """The picture of a floor, drawn anew from what was sent; to scale once two points of known distance are given.

    Metres on the floor run right and up, as the positions of openings do; pixels of the picture run right and down.
    """

    floor = models.OneToOneField(Floor, primary_key=True, on_delete=models.CASCADE, related_name="plan")
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    picture = models.FileField(upload_to="plans/")
    digest = models.CharField(max_length=64, help_text="SHA-256 of the picture as kept.")
    width = models.PositiveIntegerField(help_text="Pixels, as kept.")
    height = models.PositiveIntegerField()
    file_name = models.CharField(max_length=200)
    pdf = models.FileField(upload_to="plans/", blank=True, help_text="What was sent, where another page may be chosen.")
    page = models.PositiveIntegerField(default=1)
    pages = models.PositiveIntegerField(default=1)
    # How it was placed, so that it can be corrected: the two points in pixels, and how far apart they are in truth.
    first_x = models.FloatField(null=True, blank=True)
    first_y = models.FloatField(null=True, blank=True)
    second_x = models.FloatField(null=True, blank=True)
    second_y = models.FloatField(null=True, blank=True)
    distance = LengthField(null=True, blank=True)
    # What follows from it.
    metres_per_px = models.FloatField(null=True, blank=True)
    left = models.FloatField(default=0, help_text="Metres along the plan of the picture's left edge.")
    bottom = models.FloatField(default=0)
    set_at = models.DateTimeField()
    set_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")

    away_at = models.DateTimeField(null=True, blank=True, help_text="Taken away then; kept until another replaces it.")
    away_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["floor"]
        constraints = [
            models.CheckConstraint(
                condition=Q(metres_per_px=None) | Q(metres_per_px__gt=0), name="plan_scale_positive"
            ),
            models.CheckConstraint(
                condition=Q(away_at=None, away_by=None) | Q(away_at__isnull=False, away_by__isnull=False),
                name="plan_taken_away_by_someone",
            ),
            models.CheckConstraint(condition=Q(width__gt=0) & Q(height__gt=0), name="plan_has_pixels"),
        ]
