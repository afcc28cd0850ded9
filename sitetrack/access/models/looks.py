"""When a person last looked at a site, so that a sheet can tell what came in since."""

from django.conf import settings
from django.db import models

from sitetrack.kit.ids import new_id


class Look(models.Model):
    """One person's looking at one site. What came in after `since` is told as new."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey("openings.Site", on_delete=models.CASCADE, related_name="+")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    since = models.DateTimeField()
    looked_at = models.DateTimeField(help_text="When the person last opened the sheet.")

    class Meta:
        ordering = ["id"]
        constraints = [models.UniqueConstraint(fields=["site", "person"], name="one_look_per_site_and_person")]
