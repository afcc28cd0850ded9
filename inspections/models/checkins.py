"""Check-ins: what hands reported from the openings. Only ever added to."""

from django.db import models
from django.db.models import Q

from openings.models import Opening, Site
from sitetrack.access.models import Company, Device, Person
from sitetrack.access.roles import Role
from sitetrack.access.scope import CompanyScopedQuerySet


class Action(models.TextChoices):
    """What a check-in says happened."""

    START = "start", "started"
    FINISH = "finish", "finished"
    FAIL = "fail", "failed"
    SIGN = "sign", "signed"
    HOLD = "hold", "held"
    RELEASE = "release", "released"
    NOTE = "note", "noted"
    VOID = "void", "taken back"


class Outcome(models.TextChoices):
    """What the server decided of a check stage's readings and answers."""

    PASS = "pass", "passes"
    FAIL = "fail", "fails"
    INCOMPLETE = "incomplete", "incomplete"


class ReceivedItem(models.Model):
    """What every received item carries: who sent it, from what, and the three times."""

    id = models.UUIDField(primary_key=True, editable=False)
    # Site, device and opening: the indexes below begin with them, and more of them would only slow check-ins down.
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+", db_index=False)
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    company = models.ForeignKey(Company, on_delete=models.PROTECT, related_name="+")
    role = models.CharField(max_length=12, choices=Role)
    device = models.ForeignKey(
        Device, null=True, blank=True, on_delete=models.PROTECT, related_name="+", db_index=False
    )
    happened_at = models.DateTimeField(help_text="By the phone's own clock, as sent.")
    corrected_at = models.DateTimeField(help_text="By the server's clock; fixed at first receipt.")
    received_at = models.DateTimeField()
    uncertainty_ms = models.PositiveBigIntegerField(help_text="How far corrected_at may be off.")
    content_digest = models.CharField(max_length=64, help_text="Tells the same item again from another under its id.")
    seq = models.BigIntegerField(help_text="The site's commit-ordered number.")

    class Meta:
        abstract = True


class CheckIn(ReceivedItem):
    """One report from an opening: a stored fact. Folding decides what it means; nothing here is ever changed."""

    opening = models.ForeignKey(Opening, on_delete=models.PROTECT, related_name="check_ins", db_index=False)
    stage = models.CharField(max_length=40)
    action = models.CharField(max_length=8, choices=Action)
    counter = models.BigIntegerField(null=True, blank=True)
    about = models.UUIDField(null=True, blank=True)
    readings = models.JSONField(default=dict, blank=True, help_text="As read, as text.")
    answers = models.JSONField(default=dict, blank=True)
    note = models.TextField(blank=True)
    photos = models.JSONField(default=list, blank=True)
    verdict = models.CharField(max_length=10, choices=Outcome, blank=True)
    waives = models.BooleanField(default=False, help_text="A signature that lets a failed check stand, for a reason.")
    needs_another = models.BooleanField(
        default=False, help_text="A signature that counts only for a reading by somebody else, as the site asked then."
    )
    clock_flag = models.CharField(max_length=20, blank=True, help_text="Why this phone's clock is doubted, if it is.")
    extra = models.JSONField(
        default=dict, blank=True, help_text="Fields a newer app sent that this server has no word for."
    )

    objects = CompanyScopedQuerySet.as_manager()

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(fields=["site", "seq"], name="check_in_seq_once"),
            models.CheckConstraint(condition=Q(action__in=Action.values), name="check_in_action_known"),
            models.CheckConstraint(
                condition=~Q(action__in=["sign", "void", "release"]) | Q(about__isnull=False),
                name="check_in_names_its_subject",
            ),
        ]
        indexes = [
            models.Index(fields=["opening", "id"]),
            models.Index(fields=["site", "company", "corrected_at"]),
            models.Index(fields=["device", "counter"]),
            # A pull names every hold there may ever have been, and must not look through years of notes for them.
            models.Index(
                fields=["opening", "id"],
                condition=Q(action=Action.HOLD) | Q(verdict=Outcome.FAIL),
                name="check_in_may_have_held",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.stage} {self.action}"


class KeptAside(ReceivedItem):
    """An item that names an opening or stage the site does not have, kept whole until a supervisor places it."""

    class Settled(models.TextChoices):
        PLACED = "placed"
        DISCARDED = "discarded"

    payload = models.JSONField(help_text="The item exactly as sent.")
    reason = models.CharField(max_length=40)
    settled = models.CharField(max_length=10, choices=Settled, blank=True)
    settled_by = models.ForeignKey(Person, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_why = models.CharField(max_length=300, blank=True)

    objects = CompanyScopedQuerySet.as_manager()

    class Meta:
        ordering = ["id"]
        verbose_name_plural = "kept aside"
        indexes = [models.Index(fields=["site", "settled"])]

    def __str__(self) -> str:
        said = self.payload if isinstance(self.payload, dict) else {}
        return f"{said.get('opening', '?')}, {said.get('stage', '?')}"[:100]
