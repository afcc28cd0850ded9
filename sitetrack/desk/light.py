"""Legible in the sun: a page in bright light is black on white with thick lines, by the choice of who looks.

Chosen by `?light=bright` and given up by `?light=usual`; kept in a cookie of the browser, because it is the screen
that stands in the sun and not the person.
"""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

COOKIE = "light"
BRIGHT, USUAL = "bright", "usual"


class BrightLightMiddleware:
    """Tell the templates whether to draw for bright light, and remember the choice."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        asked = request.GET.get("light", "")
        request.bright = (asked or request.COOKIES.get(COOKIE)) == BRIGHT  # type: ignore[attr-defined]
        response = self.get_response(request)
        if asked in {BRIGHT, USUAL}:
            response.set_cookie(COOKIE, asked, max_age=365 * 86400, samesite="Lax", httponly=True)
        return response
