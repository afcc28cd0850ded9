"""The order of work, as data."""

from django.db import models

from openings.models.sites import Site
from openings.models.walls import WallKind
from sitetrack.access.models.people import Person
from sitetrack.access.scope import SiteScopedQuerySet
from sitetrack.kit.ids import new_id


class SequencePlan(models.Model):
    """One version of a sequence plan of a site. A change makes a new version; it is checked before it is stored.

    `stages` is the list of stages in the form that `openings.sequence.plan` reads; kept whole, because a plan is only
    ever checked and used whole. `basis` says where the order of work comes from.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="plans")
    code = models.CharField(max_length=40)
    version = models.PositiveIntegerField(default=1)
    name = models.JSONField(default=dict)
    wall_kind = models.CharField(max_length=12, choices=WallKind)
    stages = models.JSONField()
    current = models.BooleanField(default=True)
    basis = models.JSONField(default=dict, blank=True)
    made_at = models.DateTimeField(null=True, help_text="Empty for versions from before this was noted.")
    made_by = models.ForeignKey(
        Person, null=True, on_delete=models.PROTECT, related_name="+", help_text="Empty: shipped with the release."
    )
    why = models.CharField(max_length=300, blank=True, help_text="What the version changes, in its maker's words.")

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


class PlanDraft(models.Model):
    """The next version of a sequence plan while it is being drawn; nothing of it counts until it is installed.

    One to a plan. `version` rises with every change, so that of two people drawing at once the second is told.
    `previous` is the document before the last change, for its undo. A draft that was dropped stays until the next.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="plan_drafts")
    code = models.CharField(max_length=40)
    base = models.ForeignKey(SequencePlan, on_delete=models.PROTECT, related_name="+", help_text="Drawn from this.")
    document = models.JSONField(help_text="As `openings.sequence.plan_document` reads it; readable, not yet sound.")
    previous = models.JSONField(null=True)
    version = models.PositiveIntegerField(default=1)
    changed_at = models.DateTimeField()
    changed_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    dropped_at = models.DateTimeField(null=True)

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [models.UniqueConstraint(fields=["site", "code"], name="one_draft_per_plan")]

    def __str__(self) -> str:
        return f"{self.code}, draft"
