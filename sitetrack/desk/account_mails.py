"""What is mailed about accounts, in the language of whoever gets it. A link in it is a key: it is never logged."""

import logging
from smtplib import SMTPException
from threading import Thread

from django.conf import settings
from django.core.mail import EmailMessage
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext as _

from sitetrack.access.models import Invitation, Membership, Person
from sitetrack.access.services.forgotten import new_password_key

log = logging.getLogger(__name__)


def sends_mail() -> bool:
    """Whether this server was given a mail server."""
    return bool(settings.EMAIL_HOST)


def send_now(message: EmailMessage) -> bool:
    """Send, and say whether the mail server took it; False as well where there is none."""
    if not sends_mail():
        return False
    try:
        return bool(message.send())
    except (SMTPException, OSError) as error:
        log.warning("mail not sent: %s", type(error).__name__)
        return False


def send_aside(message: EmailMessage) -> Thread:
    """Send beside the answer: whoever asks can't tell by its time whether there was anyone to write to.

    What is lost with the process is asked for again by the person who waits for it.
    """
    thread = Thread(target=send_now, args=(message,), name="mail")
    thread.start()
    return thread


def invitation_link(token: str) -> str:
    """Where an invitation is taken up."""
    return settings.PUBLIC_URL + reverse("desk:invited", args=[token])


def invitation_mail(invitation: Invitation, token: str) -> EmailMessage:
    """Asks someone onto a site."""
    with translation.override(invitation.language):
        subject = _("Invitation to %(site)s") % {"site": invitation.site.name}
        said = _("%(who)s asks you onto %(site)s as: %(role)s, for %(company)s.") % {
            "who": invitation.made_by, "site": invitation.site.name, "role": invitation.get_role_display(),
            "company": invitation.company,
        }  # fmt: skip
        todo = _("Open this link to choose a password. It is good once, for seven days:")
    return _mail(subject, f"{said}\n\n{todo}\n{invitation_link(token)}\n", invitation.email)


def joined_mail(membership: Membership) -> EmailMessage:
    """Tells someone who has an account that they have a role on one more site."""
    person, site = membership.person, membership.site
    with translation.override(person.language):
        subject = _("You are on %(site)s now") % {"site": site.name}
        said = _("You have a role on %(site)s: %(role)s, for %(company)s. Sign in as before:") % {
            "site": site.name, "role": membership.get_role_display(), "company": membership.company,
        }  # fmt: skip
    return _mail(subject, f"{said}\n{settings.PUBLIC_URL}{reverse('desk:today', args=[site.code])}\n", person.email)


def new_password_mail(person: Person) -> EmailMessage:
    """The link for a forgotten password."""
    link = settings.PUBLIC_URL + reverse("desk:new-password", args=[person.pk, new_password_key(person)])
    with translation.override(person.language):
        subject = _("A new password for Sitetrack")
        said = _("Someone asked for a new password for this address. Open this link within an hour to choose one:")
        unless = _("If that was not you, nothing needs doing: the old password stays.")
    return _mail(subject, f"{said}\n{link}\n\n{unless}\n", person.email)


def _mail(subject: str, body: str, to: str) -> EmailMessage:
    # A subject is one line; a site's name that holds a break would otherwise be refused as a header.
    return EmailMessage(" ".join(subject.split()), body, to=[to])
