"""Who changed what, when, from what to what: rows that are added and never touched again."""

from typing import Any, Never, Self

from django.db import models
from django.utils.translation import gettext_lazy as _

from sitetrack.access.models.memberships import Membership
from sitetrack.access.models.people import Person
from sitetrack.access.roles import Role
from sitetrack.kit.ids import new_id


class Kind(models.TextChoices):
    """What was changed. A new kind needs a line here and no migration: the column knows no choices."""

    ACCOUNT = "account", _("account")
    PERSON = "person", _("role of a person")
    INVITATION = "invitation", _("invitation")
    COMPANY = "company", _("company")
    PHONE = "phone", _("phone or program")
    SITE = "site", _("site settings")
    PLACE = "place", _("building or floor")
    FLOOR_PLAN = "floor-plan", _("floor plan")
    PLAN = "plan", _("sequence plan")
    PROFILE = "profile", _("tolerances")
    SCHEDULE = "schedule", _("schedule")
    OPENING = "opening", _("opening")
    ALERT = "alert", _("alert")
    KEPT_ASIDE = "kept-aside", _("check-in kept aside")
    MAILING = "mailing", _("mailing list")
    WEBHOOK = "webhook", _("webhook")
    REPORT = "report", _("report")
    CALENDAR = "calendar", _("calendar address")


class Act(models.TextChoices):
    """What was done to it. As with kinds: a line here, no migration."""

    ADDED = "added", _("added")
    CHANGED = "changed", _("changed")
    REMOVED = "removed", _("removed")
    RESTORED = "restored", _("put back")
    STOPPED = "stopped", _("stopped")
    TAKEN_IN = "taken-in", _("taken in")
    PLACED = "placed", _("placed")
    DISCARDED = "discarded", _("discarded")
    ACKNOWLEDGED = "acknowledged", _("acknowledged")
    CLOSED = "closed", _("closed")
    REOPENED = "reopened", _("opened again")
    MUTED = "muted", _("muted")
    UNMUTED = "unmuted", _("no longer muted")
    SENT = "sent", _("sent")
    SIGNED_OUT = "signed-out", _("signed out")


class ChangeIsKept(Exception):  # noqa: N818 - it says what holds, to the programmer who tried
    """Raised where code tries to alter or remove what is only ever added."""


class RecordedChangeQuerySet(models.QuerySet[Any]):
    """Recorded changes: those of a site are for its supervisors; nobody alters or removes any."""

    site_path = "site"

    def visible_to(self, person: Person) -> Self:
        """Only changes of sites that `person` supervises."""
        supervised = Membership.objects.filter(person_id=person.pk, role=Role.SUPERVISOR, ended_at=None)
        return self.filter(site__in=supervised.values("site"))

    def update(self, **kwargs: Any) -> Never:
        raise ChangeIsKept("recorded changes are never altered")

    def delete(self) -> Never:
        raise ChangeIsKept("recorded changes are never removed")


class RecordedChange(models.Model):
    """One change by one person at one moment.

    Only ever added: the model refuses to alter or remove, and so do triggers in the data base (migration 0003), which
    a later change of this table has to make again on SQLite, where altering a table drops its triggers.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(
        "openings.Site", null=True, on_delete=models.PROTECT, related_name="+", help_text="None: of an account only."
    )
    at = models.DateTimeField()
    who = models.ForeignKey(
        Person, null=True, on_delete=models.PROTECT, related_name="+", help_text="None: the server itself."
    )
    kind = models.CharField(max_length=20)
    act = models.CharField(max_length=20)
    about_id = models.CharField(max_length=40, blank=True)
    named = models.CharField(max_length=200, help_text="What it was called then.")
    differences = models.JSONField(default=list, help_text="Each a list of field, value before, value after; as text.")

    objects = RecordedChangeQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [
            models.Index(fields=["site", "-at", "-id"], name="change_of_site"),
            models.Index(fields=["who", "-at"], name="change_by_person"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.act}: {self.named}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise ChangeIsKept("recorded changes are never altered")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> Never:
        raise ChangeIsKept("recorded changes are never removed")
