"""Mutes: an alert rule that a person has silenced in one area until a date, with a reason."""

from datetime import datetime, timedelta
from typing import Any

from django.db import models
from django.db.models import Exists, F, OuterRef, Q

from inspections.models.alerts import Severity
from openings.models import Floor, Opening, Site, WallType
from sitetrack.access.models import Person
from sitetrack.access.scope import SiteScopedQuerySet
from sitetrack.kit.ids import new_id

# A critical alert is silent for a week at most, whatever the mute says: what can cost a wall is not forgotten longer.
# Chosen here.
CRITICAL_AT_MOST = timedelta(days=7)


class MuteQuerySet(SiteScopedQuerySet):
    """Mutes, and which of them hold."""

    def holding(self, at: datetime) -> "MuteQuerySet":
        """Those that hold at a moment."""
        return self.filter(muted_at__lte=at, until__gt=at).filter(Q(lifted_at=None) | Q(lifted_at__gt=at))

    def ended_between(self, since: datetime, until: datetime) -> "MuteQuerySet":
        """Those that ended after one moment and by another, by themselves or lifted."""
        ran_out = Q(lifted_at=None, until__gt=since, until__lte=until)
        lifted = Q(lifted_at__gt=since, lifted_at__lte=until)
        week_over = Q(muted_at__gt=since - CRITICAL_AT_MOST, muted_at__lte=until - CRITICAL_AT_MOST)
        return self.filter(ran_out | lifted | week_over)


class Mute(models.Model):
    """One rule, silenced in one area: a floor, a wall type or an opening.

    It ends by itself. The alerts it covers exist, are counted, and say who muted them; they are not mailed and not
    listed among those that wait for an answer.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    rule = models.CharField(max_length=40)
    floor = models.ForeignKey(Floor, null=True, blank=True, on_delete=models.CASCADE, related_name="+")
    wall = models.ForeignKey(WallType, null=True, blank=True, on_delete=models.CASCADE, related_name="+")
    opening = models.ForeignKey(Opening, null=True, blank=True, on_delete=models.CASCADE, related_name="+")
    reason = models.CharField(max_length=300)
    muted_at = models.DateTimeField()
    muted_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    until = models.DateTimeField()
    lifted_at = models.DateTimeField(null=True, blank=True)
    lifted_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    objects = MuteQuerySet.as_manager()

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["site", "rule", "until"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(floor__isnull=False, wall=None, opening=None)
                | Q(floor=None, wall__isnull=False, opening=None)
                | Q(floor=None, wall=None, opening__isnull=False),
                name="mute_has_one_area",
            ),
            models.CheckConstraint(condition=Q(until__gt=F("muted_at")), name="mute_ends_after_it_begins"),
            models.CheckConstraint(condition=~Q(reason=""), name="mute_has_a_reason"),
        ]

    @property
    def area(self) -> Floor | WallType | Opening:
        """Where it holds."""
        found = self.opening or self.floor or self.wall
        if found is None:
            raise AssertionError("the data base holds a mute to one area")
        return found


def covered_by(mutes: models.QuerySet[Any]) -> Exists:
    """Whether one of these mutes covers the alert of the outer query, by rule and area."""
    here = Q(floor=OuterRef("opening__floor")) | Q(wall=OuterRef("opening__wall")) | Q(opening=OuterRef("opening"))
    return Exists(mutes.filter(here, site=OuterRef("site"), rule=OuterRef("rule")))


def muted_at(moment: datetime) -> Q:
    """The alerts that are muted at a moment."""
    holding = Mute.objects.holding(moment)
    lately = holding.filter(muted_at__gt=moment - CRITICAL_AT_MOST)
    return Q(covered_by(holding)) & (~Q(severity=Severity.CRITICAL) | Q(covered_by(lately)))
