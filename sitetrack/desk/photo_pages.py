"""A photo of an opening: small, whole, and on its page with who sent it from where."""

from django.http import Http404, HttpRequest, HttpResponse
from django.utils.cache import patch_cache_control
from django.views.decorators.http import require_safe

from inspections.selectors.photos import naming_check_ins, visible_photo
from inspections.selectors.stages import site_stages
from inspections.services.photos import read_photo
from inspections.services.thumbnails import small_photo
from sitetrack.desk.sheets import OPENING, Desk, draw, site_page

# Its address is the digest of its bytes, so it never changes; how long a browser keeps what one may see no more.
KEEP_SECONDS = 86_400


@require_safe
@site_page
def photo(request: HttpRequest, desk: Desk, digest: str) -> HttpResponse:
    """The photo's page: which check-ins name it, who made them and when."""
    found = visible_photo(digest, desk.person, desk.site.pk)
    if found is None:
        raise Http404("No such photo that you may see.")
    context = {
        "photo": found,
        "named_by": naming_check_ins(digest, desk.site, desk.person),
        "stages": site_stages(desk.site, desk.person),
    }
    return draw(request, desk, OPENING, "desk/photo.html", context)


@require_safe
@site_page
def full(request: HttpRequest, desk: Desk, digest: str) -> HttpResponse:
    """The picture as it is kept."""
    return _picture(desk, digest, is_small=False)


@require_safe
@site_page
def small(request: HttpRequest, desk: Desk, digest: str) -> HttpResponse:
    """The picture small."""
    return _picture(desk, digest, is_small=True)


def _picture(desk: Desk, digest: str, *, is_small: bool) -> HttpResponse:
    if visible_photo(digest, desk.person, desk.site.pk) is None:
        raise Http404("No such photo that you may see.")
    try:
        content = small_photo(digest) if is_small else read_photo(digest)
    except OSError:
        raise Http404("The photo's file is not here.") from None
    answer = HttpResponse(content, content_type="image/jpeg")
    answer["Content-Disposition"] = "inline"
    patch_cache_control(answer, private=True, max_age=KEEP_SECONDS, immutable=True)
    return answer
