"""Companies and the people who work for them."""

from typing import Any, ClassVar

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser, BaseUserManager, PermissionsMixin
from django.db import models
from django.db.models.functions import Lower
from django.utils.crypto import salted_hmac

from sitetrack.kit.clock import now
from sitetrack.kit.ids import new_id


class Company(models.Model):
    """A contractor or subcontractor."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    name = models.CharField(max_length=120)

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "companies"
        constraints = [models.UniqueConstraint(Lower("name"), name="company_name_once")]

    def __str__(self) -> str:
        return self.name


class PersonManager(BaseUserManager["Person"]):
    """Makes people; the address is their sign-in name."""

    def create_user(self, email: str, password: str | None = None, **fields: Any) -> "Person":
        person = self.model(email=self.normalize_email(email).lower(), **fields)
        person.set_password(password)
        person.save(using=self._db)
        return person

    def create_superuser(self, email: str, password: str | None = None, **fields: Any) -> "Person":
        return self.create_user(email, password, is_staff=True, is_superuser=True, **fields)

    def get_by_natural_key(self, username: str | None) -> "Person":
        return self.get(email__iexact=username)


class Person(AbstractBaseUser, PermissionsMixin):
    """Someone who signs in or carries a phone. What they may do is said per site by a `Membership`."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    email = models.EmailField(unique=True)
    name = models.CharField(max_length=120)
    language = models.CharField(max_length=5, choices=settings.LANGUAGES, default="en")
    signing_code = models.CharField(max_length=200, blank=True, editable=False, help_text="Hash of the signing code.")
    session_round = models.PositiveIntegerField(
        default=0, editable=False, help_text="Raised to end every session at once: their hash holds it."
    )
    is_staff = models.BooleanField(default=False)
    is_active = models.BooleanField(default=True)
    joined_at = models.DateTimeField(default=now, editable=False)

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]
    objects = PersonManager()

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "people"

    def __str__(self) -> str:
        return self.name or self.email

    def _get_session_auth_hash(self, secret: str | None = None) -> str:
        """What ties a session to the person; another password or another round ends the sessions from before."""
        signed = f"{self.password}|{self.session_round}"
        return salted_hmac("access.session", signed, secret=secret, algorithm="sha256").hexdigest()
