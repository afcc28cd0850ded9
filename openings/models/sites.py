"""The site."""

import zoneinfo

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Q

from sitetrack.access.scope import SiteQuerySet
from sitetrack.kit.ids import new_id
from sitetrack.kit.lengths import UnitSystem


def known_time_zone(value: str) -> None:
    """Refuse a zone the IANA data base does not have."""
    if value not in zoneinfo.available_timezones():
        raise ValidationError(f"{value!r} is not a time zone name. Example: America/Chicago")


class Site(models.Model):
    """One job. Everything that happens on it carries its key, so that sites share nothing but people."""

    class Units(models.TextChoices):
        IMPERIAL = "imperial", "inches"
        METRIC = "metric", "millimetres"

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    code = models.SlugField(max_length=20, unique=True)
    name = models.CharField(max_length=120)
    time_zone = models.CharField(max_length=60, default="America/Chicago", validators=[known_time_zone])
    units = models.CharField(max_length=8, choices=Units, default=Units.IMPERIAL)
    language = models.CharField(max_length=5, choices=settings.LANGUAGES, default="en")
    report_weekday = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(7)], help_text="ISO weekday; 1 is Monday."
    )
    report_hour = models.PositiveSmallIntegerField(default=5, validators=[MaxValueValidator(23)])
    hold_limit_days = models.PositiveSmallIntegerField(default=3)
    signer_differs_from_reader = models.BooleanField(default=True)
    # Read by `sitetrack.access` at every request of a browser that gave no one-time code; set on the site's settings.
    supervisors_need_codes = models.BooleanField(
        default=False, help_text="Supervisors sign in with a one-time code as well."
    )
    starts_on = models.DateField(null=True, blank=True)
    ends_on = models.DateField(null=True, blank=True)
    contact = models.CharField(
        max_length=200, blank=True, validators=[RegexValidator(r"^[^\r\n]*$", "One line, please.")]
    )
    # The commit-ordered counter of everything a phone may pull. Taken under this row's lock in the writing
    # transaction, so no reader can step past a number that commits later.
    change_counter = models.BigIntegerField(default=0, editable=False)

    objects = SiteQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(condition=Q(report_weekday__range=(1, 7)), name="site_report_weekday"),
            models.CheckConstraint(condition=Q(report_hour__range=(0, 23)), name="site_report_hour"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        """The site's own clock; days and weeks are counted on it."""
        return zoneinfo.ZoneInfo(self.time_zone)

    @property
    def unit_system(self) -> UnitSystem:
        """What a bare number means here, as the readers of lengths take it."""
        return "metric" if self.units == self.Units.METRIC else "imperial"
