"""Who asks, and from what."""

from rest_framework.exceptions import NotAuthenticated
from rest_framework.request import Request

from sitetrack.access.models import Device, Person


def asking(request: Request) -> Person:
    """The person signed in, or whose token was used."""
    if not isinstance(request.user, Person):
        raise NotAuthenticated
    return request.user


def device_of(request: Request) -> Device | None:
    """The phone or program whose token was used; None at a browser."""
    return request.auth if isinstance(request.auth, Device) else None
