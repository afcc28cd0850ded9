"""What is reported of a whole site and kept: weekly statuses as issued, who gets them by mail, and forecasts."""

from typing import Self

from django.db import models
from django.db.models import Q

from openings.models import Site
from sitetrack.access.models import Company, Membership, Person
from sitetrack.access.roles import Role
from sitetrack.access.scope import SiteScopedQuerySet
from sitetrack.kit.ids import new_id


class WholeSiteQuerySet(SiteScopedQuerySet):
    """Rows that hold every company's figures: for everyone on a site but its crews."""

    def visible_to(self, person: Person) -> Self:
        """Only those of sites where `person` stands as something else than crew."""
        standings = Membership.objects.filter(person_id=person.pk, ended_at=None).exclude(role=Role.CREW)
        return self.filter(site__in=standings.values("site"))


class WeeklyStatus(models.Model):
    """The status of one site for one week, as issued. Never changed."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="weekly_statuses")
    iso_week = models.CharField(max_length=8, help_text="For example 2026-W09.")
    cut_off = models.DateTimeField()
    made_at = models.DateTimeField()
    digest = models.CharField(max_length=64, help_text="SHA-256 of its JSON.")
    figures = models.JSONField(default=dict, help_text="Of the site, by name: what the next week is compared with.")
    files = models.JSONField(help_text="By format: name in the media folder, size in bytes, SHA-256.")

    owed_at = models.DateTimeField(null=True, blank=True, help_text="When its mails were put among those owed.")

    objects = WholeSiteQuerySet.as_manager()

    class Meta:
        ordering = ["site", "-cut_off"]
        verbose_name_plural = "weekly statuses"
        constraints = [
            models.UniqueConstraint(fields=["site", "iso_week"], name="one_status_per_site_and_week"),
            models.CheckConstraint(condition=~Q(digest=""), name="weekly_status_has_digest"),
        ]

    def __str__(self) -> str:
        return self.iso_week


class AskedStatus(models.Model):
    """A week whose status somebody asked for and that is not issued yet: owed, whatever becomes of the job."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    iso_week = models.CharField(max_length=8)
    asked_at = models.DateTimeField()

    class Meta:
        ordering = ["id"]
        constraints = [models.UniqueConstraint(fields=["site", "iso_week"], name="one_asking_per_site_and_week")]

    def __str__(self) -> str:
        return self.iso_week


class Forecast(models.Model):
    """When a site's floors and trades will be done, as told on one morning. Never changed; old ones are let go."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="forecasts")
    as_of = models.DateField(help_text="The site's day, on whose morning it stands.")
    made_at = models.DateTimeField()
    digest = models.CharField(max_length=64, help_text="SHA-256 of all that went in; its seed comes from it.")
    told = models.JSONField(help_text="See sitetrack.reports.forecast_told.")

    objects = WholeSiteQuerySet.as_manager()

    class Meta:
        ordering = ["site", "-as_of", "-made_at"]
        constraints = [
            models.UniqueConstraint(fields=["site", "digest"], name="one_forecast_per_site_and_input"),
            models.CheckConstraint(condition=~Q(digest=""), name="forecast_has_digest"),
        ]
        indexes = [models.Index(fields=["site", "-as_of", "-made_at"])]

    def __str__(self) -> str:
        return str(self.as_of)


class Reader(models.Model):
    """An address on a site's mailing list, of somebody who need not be a person here."""

    class Paper(models.TextChoices):
        LETTER = "letter", "Letter"
        A4 = "a4", "A4"

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    email = models.EmailField()
    company = models.ForeignKey(
        Company, null=True, blank=True, on_delete=models.PROTECT, related_name="+", help_text="Gets its edition only."
    )
    gets_status = models.BooleanField(default=True)
    gets_anchor = models.BooleanField(default=False, help_text="The end of the sealed record, in a line a day.")
    language = models.CharField(max_length=10, blank=True, help_text="Empty: that of the site.")
    paper = models.CharField(max_length=6, choices=Paper, blank=True, help_text="Empty: as is usual on the site.")

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["site", "email"]
        constraints = [models.UniqueConstraint(fields=["site", "email"], name="one_entry_per_site_and_address")]

    def __str__(self) -> str:
        return self.email


class CalendarKey(models.Model):
    """The secret part of the address of one person's calendar of one site; only its digest is kept."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    class Meta:
        ordering = ["id"]
        constraints = [models.UniqueConstraint(fields=["site", "person"], name="one_calendar_per_site_and_person")]
