"""Rules for passwords beside Django's own: no endless ones, and none made of the job's own words."""

from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from sitetrack.access.models import Membership

LEAST_WORD = 4  # shorter words of a site's name are part of too many good passwords
MOST_SITES = 50


class NotEndless:
    """At most so many characters: NIST SP 800-63B asks that 64 be taken; a hash of megabytes would stop the server."""

    def __init__(self, most: int = 256) -> None:
        self.most = most

    def validate(self, password: str, user: Any = None) -> None:
        if len(password) > self.most:
            raise ValidationError(_("At most %(most)d characters.") % {"most": self.most}, code="password_endless")

    def get_help_text(self) -> str:
        return _("At most %(most)d characters.") % {"most": self.most}


class NotOfTheJob:
    """No password that is little more than words of the person's sites (NIST SP 800-63B: context-specific words)."""

    def validate(self, password: str, user: Any = None) -> None:
        left = password.casefold()
        for word in sorted(_words(user), key=len, reverse=True):
            left = left.replace(word, "")
        kept = sum(character.isalnum() for character in left)
        if left != password.casefold() and kept < LEAST_WORD * 2:
            raise ValidationError(_("This is little more than the name of the job. Add words of your own."), code="job")

    def get_help_text(self) -> str:
        return _("Not just the name of the job.")


def _words(user: Any) -> set[str]:
    """Words of the sites the person has a role on, and of this program."""
    said = ["Sitetrack"]
    if user is not None and user.pk:
        standings = Membership.objects.filter(person_id=user.pk, ended_at=None)
        for code, name in standings.values_list("site__code", "site__name")[:MOST_SITES]:
            said += [code, *code.split("-"), name, name.replace(" ", ""), *name.split()]
    return {word.casefold() for word in said if len(word) >= LEAST_WORD}
