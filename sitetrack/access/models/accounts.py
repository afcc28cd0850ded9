"""What belongs to a person's account: invitations, one-time codes, where they are signed in, tries that failed."""

from typing import Any

from django.db import models
from django.db.models import Q

from sitetrack.access.models.memberships import Membership
from sitetrack.access.models.people import Company, Person
from sitetrack.access.roles import Role
from sitetrack.access.scope import SupervisedQuerySet
from sitetrack.kit.ids import new_id


class Invitation(models.Model):
    """Someone asked onto a site by mail. The link is good once and for some days; only its digest is kept."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey("openings.Site", on_delete=models.PROTECT, related_name="invitations")
    email = models.EmailField()
    name = models.CharField(max_length=120, blank=True)
    language = models.CharField(max_length=5, default="en")
    company = models.ForeignKey(Company, on_delete=models.PROTECT, related_name="+")
    role = models.CharField(max_length=12, choices=Role)
    trades = models.JSONField(default=list, blank=True)
    token_digest = models.CharField(max_length=64, unique=True, editable=False)
    made_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    taken_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    membership = models.OneToOneField(Membership, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    objects = SupervisedQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["site", "email"],
                condition=Q(taken_at=None, withdrawn_at=None),
                name="one_open_invitation_per_site_and_address",
            ),
        ]

    def __str__(self) -> str:
        return self.email


class CodeKey(models.Model):
    """The secret that a person's authenticator makes one-time codes from (RFC 6238); counts once `confirmed_at` is set.

    `last_step` is the time step of the last code taken: an earlier or the same one is never taken again.
    """

    person = models.OneToOneField(Person, primary_key=True, on_delete=models.CASCADE, related_name="code_key")
    secret = models.CharField(max_length=80, editable=False, help_text="In hexadecimal.")
    made_at = models.DateTimeField()
    confirmed_at = models.DateTimeField(null=True, blank=True)
    last_step = models.BigIntegerField(default=-1)


class RecoveryCode(models.Model):
    """A code for the day the authenticator is lost: good once, kept as a digest only."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="recovery_codes")
    digest = models.CharField(max_length=64, editable=False)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "digest"], name="recovery_code_once_per_person")]


class SignedIn(models.Model):
    """One browser where a person is signed in; it goes with its session."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="signed_in")
    session_key = models.CharField(max_length=40, unique=True, editable=False)
    browser = models.CharField(max_length=200, blank=True, help_text="As it calls itself.")
    address = models.CharField(max_length=45, blank=True)
    began_at = models.DateTimeField()
    seen_at = models.DateTimeField()

    class Meta:
        ordering = ["-seen_at"]

    def __str__(self) -> str:
        return self.browser or "?"


class FailedTry(models.Model):
    """One try that failed, or was made, of something that may not be tried without end. Old ones are cleared away."""

    subject = models.CharField(max_length=80, help_text="What was tried and by whom, as its counter calls it.")
    at = models.DateTimeField()

    objects: Any = models.Manager()

    class Meta:
        indexes = [models.Index(fields=["subject", "at"], name="tries_of_subject")]
