"""Pages speak the language of the person signed in, or the one chosen by `?lang=`, or the browser's."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import translation

COOKIE = "language"
KNOWN = {code for code, _ in settings.LANGUAGES}


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
            response.set_cookie(COOKIE, asked, max_age=365 * 86400, samesite="Lax")
        return response
