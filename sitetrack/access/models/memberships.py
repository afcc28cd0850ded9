"""Who a person is on a site."""

from django.db import models
from django.db.models import Q

from sitetrack.access.models.people import Company, Person
from sitetrack.access.roles import Role
from sitetrack.kit.clock import now
from sitetrack.kit.ids import new_id


class Membership(models.Model):
    """A person's role on one site, for one company, with the trades that company brings there.

    Ended rather than deleted or changed when the person moves to another company: what they reported stays reported
    for the company they worked for then.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey("openings.Site", on_delete=models.PROTECT, related_name="memberships")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="memberships")
    company = models.ForeignKey(Company, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=12, choices=Role)
    trades = models.JSONField(default=list, blank=True)
    began_at = models.DateTimeField(default=now)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["id"]
        constraints = [
            models.UniqueConstraint(
                fields=["site", "person"], condition=Q(ended_at=None), name="one_standing_per_person_and_site"
            ),
            models.CheckConstraint(condition=Q(role__in=Role.values), name="membership_role_known"),
        ]

    def __str__(self) -> str:
        return f"{self.person} ({self.get_role_display()})"
