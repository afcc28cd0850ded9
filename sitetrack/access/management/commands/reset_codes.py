"""manage.py reset_codes EMAIL: for someone who lost both the authenticator and the recovery codes."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from sitetrack.access.models import Person
from sitetrack.access.services.codes import drop_codes, has_codes
from sitetrack.access.services.sessions import end_sessions
from sitetrack.kit.clock import now


class Command(BaseCommand):
    """Turns a person's one-time codes off and signs them out everywhere; the password stays, and they set codes anew.

    Whoever runs it has made sure, by other means than a mail, who is asking.
    """

    help = "Turn off the one-time codes of someone who lost their authenticator and recovery codes."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("email")

    def handle(self, *args: Any, **options: Any) -> None:
        person = Person.objects.filter(email__iexact=options["email"].strip()).first()
        if person is None:
            raise CommandError("Nobody has this e-mail address.")
        if not has_codes(person):
            raise CommandError(f"{person.email} has no one-time codes; nothing was changed.")
        with transaction.atomic():
            drop_codes(person=person, who=None, now=now())
            end_sessions(person=person)
        self.stdout.write(f"{person.email}: codes are off, and every browser is signed out. It is on the audit trail.")
