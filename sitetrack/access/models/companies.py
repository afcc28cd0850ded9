"""Which companies work on a site, and at what."""

from django.db import models

from sitetrack.access.models.people import Company
from sitetrack.access.scope import SiteScopedQuerySet
from sitetrack.kit.ids import new_id


class SiteCompany(models.Model):
    """A company on a site's list with the trades it does there, told before any of its people has come.

    Who works for it there is said by `Membership`, and so is what each may report.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey("openings.Site", on_delete=models.CASCADE, related_name="+")
    company = models.ForeignKey(Company, on_delete=models.PROTECT, related_name="listings")
    trades = models.JSONField(default=list)

    objects = SiteScopedQuerySet.as_manager()

    class Meta:
        ordering = ["id"]
        verbose_name_plural = "site companies"
        constraints = [models.UniqueConstraint(fields=["site", "company"], name="company_listed_once_per_site")]

    def __str__(self) -> str:
        return str(self.company)
