"""The opening: a door's place in a wall, and the frame that goes into it."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Upper

from openings.models.places import Floor
from openings.models.plans import SequencePlan
from openings.models.sites import Site
from openings.models.walls import WallType
from sitetrack.access.scope import SiteScopedQuerySet
from sitetrack.kit.fields import LengthField
from sitetrack.kit.ids import new_id


class Opening(models.Model):
    """One opening of the schedule. Unknown is not none: an attribute the schedule did not tell stays empty or null."""

    class Construction(models.TextChoices):
        WELDED = "welded", "welded"
        KNOCKED_DOWN = "knocked_down", "knocked down"

    class Hand(models.TextChoices):
        LH = "LH"
        RH = "RH"
        LHR = "LHR"
        RHR = "RHR"

    class SizeIs(models.TextChoices):
        """What the size in the source measures; exporters differ, so it is asked and not assumed."""

        OPENING = "opening", "nominal opening"
        FRAME = "frame", "frame, out to out"
        LEAF = "leaf", "door leaf"

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="openings")
    floor = models.ForeignKey(Floor, on_delete=models.PROTECT, related_name="openings")
    number = models.CharField(max_length=40)
    plan = models.ForeignKey(SequencePlan, on_delete=models.PROTECT, related_name="openings")

    mark = models.CharField(max_length=60, blank=True, help_text="Frame type of the schedule, e.g. F1.")
    width = LengthField(null=True, blank=True)
    height = LengthField(null=True, blank=True)
    size_is = models.CharField(max_length=8, choices=SizeIs, blank=True)
    leaves = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(2)]
    )
    construction = models.CharField(max_length=12, choices=Construction, blank=True)
    hand = models.CharField(max_length=4, choices=Hand, blank=True)
    hinges_seen_from_push = models.CharField(max_length=5, blank=True, help_text="left or right, as a model tells it.")
    jamb_depth = LengthField(null=True, blank=True)
    wall = models.ForeignKey(WallType, null=True, blank=True, on_delete=models.PROTECT, related_name="openings")
    rating_text = models.CharField(max_length=80, blank=True, help_text="Fire rating as written.")
    rating_minutes = models.PositiveSmallIntegerField(null=True, blank=True, help_text="0: not rated. Empty: unknown.")
    electrified = models.BooleanField(null=True, blank=True)
    hardware_set = models.CharField(max_length=60, blank=True)
    covering = models.CharField(max_length=80, blank=True)
    covering_thickness = LengthField(null=True, blank=True)
    room_from = models.CharField(max_length=80, blank=True)
    room_to = models.CharField(max_length=80, blank=True)
    remarks = models.TextField(blank=True)
    extra = models.JSONField(default=dict, blank=True, help_text="Columns of the schedule kept as they came.")

    source_key = models.CharField(max_length=80, blank=True, help_text="The model's own key, e.g. its GlobalId.")
    x = models.FloatField(null=True, blank=True, help_text="Metres along the plan.")
    y = models.FloatField(null=True, blank=True)
    walk = models.PositiveIntegerField(default=0, help_text="Place in the walk through the floor.")

    in_schedule = models.BooleanField(default=True, help_text="False once a revision no longer lists it.")
    version = models.PositiveIntegerField(default=1, editable=False)
    changed_at = models.DateTimeField(editable=False)
    seq = models.BigIntegerField(editable=False)

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["site", "floor__level", "walk", "number"]
        constraints = [
            models.UniqueConstraint("site", Upper("number"), name="opening_number_once_per_site"),
            models.CheckConstraint(condition=~Q(number=""), name="opening_has_number"),
            models.CheckConstraint(condition=Q(width=None) | Q(width__gt=0), name="opening_width_positive"),
            models.CheckConstraint(condition=Q(height=None) | Q(height__gt=0), name="opening_height_positive"),
            models.CheckConstraint(
                condition=Q(leaves=None) | Q(leaves__range=(1, 2)), name="opening_leaves_one_or_two"
            ),
        ]
        indexes = [models.Index(fields=["site", "floor", "walk"]), models.Index(fields=["site", "seq"])]

    def __str__(self) -> str:
        return self.number


class DirtyOpening(models.Model):
    """Work owed on an opening: something was stored that has not been worked out yet.

    Written in the transaction that stores the cause and only ever inserted there, so writers never wait for each
    other; removed by whoever works the opening out. What a lost broker message leaves here, the sweep finds.
    """

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="+")
    opening = models.ForeignKey(Opening, on_delete=models.CASCADE, related_name="+")
    marked_at = models.DateTimeField()
    tries = models.PositiveIntegerField(default=0, help_text="How often it could not be worked out.")
    not_before = models.DateTimeField(null=True, blank=True, help_text="When the sweep tries again what failed.")

    class Meta:
        ordering = ["id"]
        verbose_name = "dirty opening"
