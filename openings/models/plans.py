"""The order of work, as data."""

from django.db import models

from openings.models.sites import Site
from openings.models.walls import WallKind
from sitetrack.access.scope import SiteScopedQuerySet
from sitetrack.kit.ids import new_id


class SequencePlan(models.Model):
    """One version of a sequence plan of a site. A change makes a new version; it is checked before it is stored.

    `stages` is the list of stages in the form that `openings.sequence.plan` reads; kept whole, because a plan is only
    ever checked and used whole.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="plans")
    code = models.CharField(max_length=40)
    version = models.PositiveIntegerField(default=1)
    name = models.JSONField(default=dict)
    wall_kind = models.CharField(max_length=12, choices=WallKind)
    stages = models.JSONField()
    current = models.BooleanField(default=True)

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["code", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["site", "code", "version"], name="plan_version_once"),
            models.UniqueConstraint(
                fields=["site", "code"], condition=models.Q(current=True), name="one_current_version_per_plan"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} v{self.version}"
