"""Wall build-ups."""

from django.db import models

from openings.models.sites import Site
from sitetrack.access.scope import SiteScopedQuerySet
from sitetrack.kit.fields import LengthField
from sitetrack.kit.ids import new_id


class WallKind(models.TextChoices):
    """What the frame is anchored to; decides anchors and the order of work."""

    STEEL_STUD = "steel_stud", "steel stud and board"
    WOOD_STUD = "wood_stud", "wood stud and board"
    MASONRY = "masonry", "masonry"
    EXISTING = "existing", "existing wall"


class WallType(models.Model):
    """A wall build-up of the site, as the schedule names it. What the schedule does not tell stays empty."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="wall_types")
    code = models.CharField(max_length=60)
    kind = models.CharField(max_length=12, choices=WallKind, blank=True)
    stud = LengthField(null=True, blank=True)
    boards_pull = models.JSONField(default=list, blank=True, help_text="Board layers as written, pull side.")
    boards_push = models.JSONField(default=list, blank=True, help_text="Board layers as written, push side.")
    thickness = LengthField(null=True, blank=True)

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [models.UniqueConstraint(fields=["site", "code"], name="wall_code_once_per_site")]

    def __str__(self) -> str:
        return self.code
