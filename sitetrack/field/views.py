"""The phone page, its worker and its manifest. All three are the same for everyone and hold nothing of any site."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from sitetrack.field.shell import current_shell, manifest_text

# No inline script or style anywhere; blob: shows the photo just taken.
CONTENT_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """The one page; where in it a person is stands after the #, which no server ever sees."""
    return _answer(current_shell().page, "text/html; charset=utf-8")


@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker, with the list of what it keeps; its address makes /field/ its scope."""
    return _answer(current_shell().worker_script(), "text/javascript; charset=utf-8")


@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    """What the phone shows of the installed app."""
    return _answer(manifest_text(), "application/manifest+json; charset=utf-8")


def _answer(text: str, content_type: str) -> HttpResponse:
    return HttpResponse(
        text,
        content_type=content_type,
        headers={"Content-Security-Policy": CONTENT_POLICY, "Cache-Control": "no-cache"},
    )
