"""Pages speak the language chosen by `?lang=`, or the one remembered from then, or the browser's.

Signing in remembers the person's own language, where that is not the usual one and nothing was chosen before.
"""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import translation

COOKIE = "language"
KNOWN = {code for code, _name in settings.LANGUAGES}


def remember(response: HttpResponse, language: str) -> None:
    """Keep the language for the visits to come."""
    response.set_cookie(COOKIE, language, max_age=365 * 86400, samesite="Lax")


class PersonLanguageMiddleware:
    """Choose the language before any view runs; a choice made once is remembered in a cookie."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        asked = request.GET.get("lang", "")
        chosen = asked if asked in KNOWN else request.COOKIES.get(COOKIE, "")
        language = chosen if chosen in KNOWN else translation.get_language_from_request(request)
        with translation.override(language):
            request.LANGUAGE_CODE = language
            response = self.get_response(request)
        response.headers.setdefault("Content-Language", language)
        if asked in KNOWN:
            remember(response, asked)
        return response
