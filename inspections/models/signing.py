"""Wrong signing codes, counted so that guessing does not pay."""

from django.db import models

from sitetrack.access.models import Device, Person


class WrongSigningCode(models.Model):
    """One wrong try at a person's signing code; never the code. Gone once the right one is given."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="+")
    device = models.ForeignKey(Device, null=True, on_delete=models.CASCADE, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["person", "at"])]
