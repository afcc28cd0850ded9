"""Links that a QR code carries to a phone.

What a link says stands after the #: it reaches no server and no log, and it opens without a network once the page is
on the phone.
"""

from urllib.parse import quote

from django.conf import settings
from django.urls import reverse


def enrolment_link(code: str) -> str:
    """The address that enrols the phone that opens it, with a code shown by the supervisor."""
    return f"{settings.PUBLIC_URL}{reverse('field:app')}#code={quote(code, safe='')}"


def opening_link(site_code: str, number: str) -> str:
    """The address of one opening, for its label; the site's code tells a phone of another site to leave it alone."""
    place = f"#/site/{quote(site_code, safe='')}/opening/{quote(number, safe='')}"
    return f"{settings.PUBLIC_URL}{reverse('field:app')}{place}"
