"""Projections: what the fold of an opening's check-ins came to. Written in one place, rebuilt at will."""

from django.db import models
from django.db.models import Q

from openings.models import Floor, Opening, Site
from sitetrack.access.models import Company, Person
from sitetrack.access.roles import Trade
from sitetrack.access.scope import SiteScopedQuerySet
from sitetrack.kit.fields import OwnJSONField


class StageState(models.TextChoices):
    """How a stage of an opening stands."""

    NOT_NEEDED = "not needed", "not needed"
    WAITING = "waiting", "waiting"
    READY = "ready", "ready"
    UNDERWAY = "underway", "underway"
    DONE = "done", "done"
    FAILED = "failed", "failed"
    OUTDATED = "outdated", "outdated"
    HELD = "held", "held"


class Progress(models.Model):
    """Where one opening stands, whole."""

    opening = models.OneToOneField(Opening, primary_key=True, on_delete=models.CASCADE, related_name="progress")
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    floor = models.ForeignKey(Floor, on_delete=models.CASCADE, related_name="+")
    state = OwnJSONField(help_text="The fold's whole answer.")
    next_stage = models.CharField(max_length=40, blank=True)
    next_trade = models.CharField(max_length=12, choices=Trade, blank=True)
    earned = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    held = models.BooleanField(default=False)
    last_at = models.DateTimeField(null=True, blank=True)
    worked_out_at = models.DateTimeField()
    seq = models.BigIntegerField()

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["opening"]
        verbose_name_plural = "progress"
        constraints = [models.CheckConstraint(condition=Q(earned__lte=models.F("total")), name="earned_within_total")]
        indexes = [
            models.Index(fields=["site", "next_trade", "floor"]),
            models.Index(fields=["site", "seq"]),
            # Today sums these on every look; the rows themselves are long, for they hold the fold's whole answer.
            models.Index(
                fields=["site", "floor", "earned", "total", "held", "opening"], name="progress_summed_by_floor"
            ),
        ]


class StageStanding(models.Model):
    """Where one stage of one opening stands; what `ready for a trade on a floor` is asked of."""

    opening = models.ForeignKey(Opening, on_delete=models.CASCADE, related_name="standings")
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    floor = models.ForeignKey(Floor, on_delete=models.CASCADE, related_name="+")
    stage = models.CharField(max_length=40)
    place = models.PositiveSmallIntegerField(help_text="Order in the plan.")
    trade = models.CharField(max_length=12, choices=Trade)
    state = models.CharField(max_length=10, choices=StageState)
    actionable = models.BooleanField(default=False, help_text="Its trade can act on it now.")
    awaits_signature = models.BooleanField(default=False)
    since = models.DateTimeField(null=True, blank=True)
    weight = models.PositiveIntegerField(default=0)
    company = models.ForeignKey(
        Company,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="Whose report it rests on, once it is done.",
    )

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["opening", "place"]
        constraints = [
            models.UniqueConstraint(fields=["opening", "stage"], name="one_standing_per_stage"),
            models.CheckConstraint(condition=Q(state__in=StageState.values), name="stage_state_known"),
        ]
        indexes = [
            models.Index(fields=["site", "trade", "actionable", "floor"]),
            models.Index(fields=["site", "stage", "state"]),
            # What can be acted on and what waits to be signed are few of many; Today counts them on every look.
            models.Index(
                fields=["site", "trade", "floor", "stage", "place", "opening"],
                condition=Q(actionable=True),
                name="standing_to_act_on",
            ),
            models.Index(
                fields=["site", "floor", "stage"], condition=Q(awaits_signature=True), name="standing_to_be_signed"
            ),
        ]


class Hold(models.Model):
    """Something that stops an opening: reported by a hand, or a check that failed.

    A reported hold stops the whole opening until it is released. One from a failed check stops what waits for that
    check, tells in `reason` what is out and which way to move it, and is released by the next reading.
    """

    id = models.UUIDField(primary_key=True, help_text="The id of the check-in that opened it.")
    from_check = models.BooleanField(default=False)
    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    opening = models.ForeignKey(Opening, on_delete=models.CASCADE, related_name="holds")
    stage = models.CharField(max_length=40)
    reason = models.TextField(blank=True)
    reasons = OwnJSONField(
        default=dict, blank=True, help_text="By language, where a failed check says it; people say it in their own."
    )
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    company = models.ForeignKey(Company, on_delete=models.PROTECT, related_name="+")
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    released_why = models.TextField(blank=True)

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["opened_at"]
        indexes = [models.Index(fields=["site", "released_at"])]

    def reason_in(self, language: str) -> str:
        """The reason for whoever reads this language."""
        return str(self.reasons.get(language) or self.reason)
