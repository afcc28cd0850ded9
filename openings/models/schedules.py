"""Schedules as they came: drafts awaiting a person, revisions taken in, and what each changed."""

from django.db import models

from openings.models.openings import Opening
from openings.models.sites import Site
from sitetrack.access.models.people import Person
from sitetrack.access.scope import SiteScopedQuerySet
from sitetrack.kit.clock import now
from sitetrack.kit.ids import new_id


class HeadingMap(models.Model):
    """What a person settled about a file's headings, remembered for the site's next file of the same headings."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="heading_maps")
    headings_digest = models.CharField(max_length=64)
    mapping = models.JSONField()
    changed_at = models.DateTimeField(default=now)

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["site", "headings_digest"], name="one_map_per_headings")]


class IntakeDraft(models.Model):
    """A file held between upload and taking in. Nothing of it counts until a person takes it in."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="drafts")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField(default=now, editable=False)
    file = models.FileField(upload_to="schedules/")
    file_name = models.CharField(max_length=200)
    settled = models.JSONField(default=dict, help_text="Mapping, defaults and rows set aside, as settled so far.")
    rows_done = models.PositiveIntegerField(default=0)
    rows_total = models.PositiveIntegerField(null=True, blank=True)
    let_go_at = models.DateTimeField(
        null=True, blank=True, editable=False, help_text="Let go then; kept for as long as that can be undone."
    )

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at"]


class ScheduleRevision(models.Model):
    """A schedule as it was taken in."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="revisions")
    n = models.PositiveIntegerField(help_text="1, 2, 3 in the order taken in.")
    label = models.CharField(max_length=80, blank=True)
    file_name = models.CharField(max_length=200)
    file_digest = models.CharField(max_length=64)
    taken_in_at = models.DateTimeField()
    taken_in_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    added = models.PositiveIntegerField(default=0)
    changed = models.PositiveIntegerField(default=0)
    unchanged = models.PositiveIntegerField(default=0)
    missing = models.PositiveIntegerField(default=0)
    refused = models.PositiveIntegerField(default=0)

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["site", "-n"]
        constraints = [models.UniqueConstraint(fields=["site", "n"], name="revision_number_once_per_site")]

    def __str__(self) -> str:
        return self.label or f"revision {self.n}"


class ScheduleChange(models.Model):
    """One field of one opening changed by one revision or by hand; never edited."""

    class Kind(models.TextChoices):
        ADDED = "added"
        CHANGED = "changed"
        MISSING = "missing"
        BACK = "back", "listed again"

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    revision = models.ForeignKey(ScheduleRevision, null=True, on_delete=models.PROTECT, related_name="changes")
    opening = models.ForeignKey(Opening, on_delete=models.PROTECT, related_name="schedule_changes")
    at = models.DateTimeField()
    by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=8, choices=Kind)
    field = models.CharField(max_length=40, blank=True)
    before = models.TextField(blank=True)
    after = models.TextField(blank=True)
    was = models.JSONField(
        null=True, editable=False, help_text="By hand only: the value before as stored, so that undoing is exact."
    )

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["opening", "at"])]
