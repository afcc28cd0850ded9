"""`manage.py issue_token`: a token for a program that posts check-ins or reads the site."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from sitetrack.access.models import Device, Membership, Person
from sitetrack.access.services.enrolment import issue_token
from sitetrack.kit.clock import now


class Command(BaseCommand):
    help = "Print a new token for a program. It acts as the person given, on that one site. Shown once."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--site", required=True, metavar="CODE", help="the site's code")
        parser.add_argument("--person", required=True, metavar="EMAIL", help="who the program acts as")
        parser.add_argument("--name", required=True, help="what the program is called in the list of devices")

    def handle(self, *args: Any, **options: Any) -> None:
        person = Person.objects.filter(email__iexact=options["person"]).first()
        if person is None:
            raise CommandError(f"--person: nobody here has the address {options['person']}.")
        standing = Membership.objects.filter(person=person, site__code=options["site"], ended_at=None).first()
        if standing is None:
            raise CommandError(f"--site: {person} has no role on a site with the code {options['site']}.")
        _, token = issue_token(
            site_id=standing.site_id, person=person, name=options["name"][:80], kind=Device.Kind.PROGRAM, now=now()
        )
        self.stdout.write(token)
