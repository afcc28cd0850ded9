"""Phones and programs that send check-ins, and the codes that enrol them."""

from django.db import models

from sitetrack.access.models.people import Person
from sitetrack.kit.clock import now
from sitetrack.kit.ids import new_id


class Device(models.Model):
    """A phone or a program, enrolled by one person for one site. Its token is kept as a digest only."""

    class Kind(models.TextChoices):
        PHONE = "phone"
        PROGRAM = "program"

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey("openings.Site", on_delete=models.PROTECT, related_name="devices")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="devices")
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.PHONE)
    name = models.CharField(max_length=80)
    token_digest = models.CharField(max_length=64, unique=True, editable=False)
    enrolled_at = models.DateTimeField(default=now, editable=False)
    last_seen_at = models.DateTimeField(null=True, blank=True, editable=False)
    clock_read_at = models.DateTimeField(
        null=True, blank=True, editable=False, help_text="When its clock was last compared; the offset is of then."
    )
    clock_offset_ms = models.BigIntegerField(null=True, blank=True, editable=False)
    clock_jumped_at = models.DateTimeField(null=True, blank=True, editable=False)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return self.name


class EnrolmentCode(models.Model):
    """A single-use code, good for a quarter of an hour, that turns a phone into a person's device."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey("openings.Site", on_delete=models.PROTECT, related_name="+")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    code_digest = models.CharField(max_length=64, unique=True, editable=False)
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    expires_at = models.DateTimeField()
    device = models.OneToOneField(Device, null=True, blank=True, on_delete=models.PROTECT, related_name="enrolled_with")

    class Meta:
        ordering = ["id"]
