"""Headers that every answer carries besides those of Django: which powers of the browser no page of ours uses."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

# W3C Permissions Policy. Photos are taken by the phone's own camera program, which needs no permission of the page.
UNUSED_POWERS = (
    "accelerometer", "autoplay", "camera", "display-capture", "encrypted-media", "geolocation",
    "gyroscope", "hid", "idle-detection", "local-fonts", "magnetometer", "microphone", "midi", "payment",
    "publickey-credentials-create", "publickey-credentials-get", "serial", "usb", "xr-spatial-tracking",
)  # fmt: skip
PERMISSIONS_POLICY = ", ".join(f"{power}=()" for power in UNUSED_POWERS)


class BrowserPowersMiddleware:
    """Say in every answer that its page uses none of these, and that no other site may embed it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS_POLICY)
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        return response
