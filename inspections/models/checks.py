"""Frame checks, sign-offs, and the tolerance profiles they are judged by."""

from django.db import models
from django.db.models import Q

from inspections.models.checkins import CheckIn, Outcome
from openings.models import Opening, Site
from sitetrack.access.models import Company, Person
from sitetrack.access.scope import CompanyScopedQuerySet, SiteScopedQuerySet
from sitetrack.kit.fields import OwnJSONField
from sitetrack.kit.ids import new_id


class ToleranceProfile(models.Model):
    """One version of a site's tolerances, with the source of every limit. Never edited: a change is a new version."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="tolerance_profiles")
    version = models.PositiveIntegerField()
    data = models.JSONField(help_text="In the form inspections.trueness reads.")
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["site", "-version"]
        constraints = [models.UniqueConstraint(fields=["site", "version"], name="profile_version_once_per_site")]


class FrameCheck(models.Model):
    """What the server judged of one reading: readings as read, verdict, margins, and the profile used for it."""

    check_in = models.OneToOneField(CheckIn, primary_key=True, on_delete=models.PROTECT, related_name="frame_check")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+", db_index=False)  # the index below does
    opening = models.ForeignKey(Opening, on_delete=models.PROTECT, related_name="frame_checks")
    company = models.ForeignKey(Company, on_delete=models.PROTECT, related_name="+")
    stage = models.CharField(max_length=40)
    read_at = models.DateTimeField()
    profile = models.ForeignKey(ToleranceProfile, on_delete=models.PROTECT, related_name="+")
    verdict = models.CharField(max_length=10, choices=Outcome)
    judged = OwnJSONField(help_text="Items with value, limit, margin, verdict and source; contradictions; suspect.")

    objects = CompanyScopedQuerySet.as_manager()

    class Meta:
        ordering = ["check_in"]
        indexes = [models.Index(fields=["site", "stage", "read_at"])]
        constraints = [
            models.CheckConstraint(condition=Q(verdict__in=Outcome.values), name="frame_check_verdict_known")
        ]


class SignOff(models.Model):
    """A signature on one reading. Append-only; each carries the digest of the one before it on the site."""

    check_in = models.OneToOneField(CheckIn, primary_key=True, on_delete=models.PROTECT, related_name="sign_off")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="sign_offs")
    n = models.PositiveBigIntegerField()
    opening = models.ForeignKey(Opening, on_delete=models.PROTECT, related_name="sign_offs")
    stage = models.CharField(max_length=40)
    about = models.UUIDField(help_text="The check-in signed; it may arrive after its signature.")
    signer = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    company = models.ForeignKey(Company, on_delete=models.PROTECT, related_name="+")
    role = models.CharField(max_length=12)
    signed_at = models.DateTimeField()
    waiver_reason = models.TextField(blank=True)
    digest_before = models.CharField(max_length=64, blank=True)
    digest = models.CharField(max_length=64, unique=True)

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["n"]
        constraints = [models.UniqueConstraint(fields=["site", "n"], name="sign_off_number_once_per_site")]
