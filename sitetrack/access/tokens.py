"""Bearer tokens of phones and programs."""

from rest_framework import authentication, exceptions
from rest_framework.request import Request

from sitetrack.access.models import Device, Person
from sitetrack.access.services.enrolment import device_of_token
from sitetrack.kit.clock import now


class DeviceTokenAuthentication(authentication.BaseAuthentication):
    """`Authorization: Bearer st_...`; the request then acts as the person who enrolled the device."""

    keyword = "Bearer"

    def authenticate(self, request: Request) -> tuple[Person, Device] | None:
        kind, _, token = request.headers.get("Authorization", "").partition(" ")
        if kind.lower() != "bearer":
            return None
        device = device_of_token(token=token.strip(), now=now())
        if device is None:
            raise exceptions.AuthenticationFailed("This token is not good any more. Enroll the phone again.")
        return device.person, device

    def authenticate_header(self, request: Request) -> str:
        return self.keyword
