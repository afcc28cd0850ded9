"""A big status made while one watches: a page that grows a progress bar and ends in a link.

The page is sent as the work goes on. Closing it, or stopping the load, ends the work where it is, and everything
written so far goes with its scratch folder: nothing half-made is left, and nobody need come back to cancel.
"""

import secrets
import shutil
from collections.abc import Iterator
from datetime import datetime
from html import escape
from pathlib import Path

from django.conf import settings
from django.core import signing
from django.http import StreamingHttpResponse
from django.urls import reverse
from django.utils.translation import get_language, gettext

from openings.models import Opening, Site
from sitetrack.access.models import Person
from sitetrack.reports.edition import Edition
from sitetrack.reports.making import Format, status_steps
from sitetrack.reports.week import Week

BIG = 2000  # openings from which a status is worth watching
LINK_LASTS = 3600  # seconds
SALT = "reports.made"
# Only the last bar of the page is seen: the page grows, and a browser shows it as it comes.
LOOK = (
    "body{font:1rem/1.5 system-ui,sans-serif;max-width:40rem;margin:3rem auto;padding:0 1rem}"
    "p.step{display:none}p.step:last-of-type{display:block}progress{width:100%}"
)


def is_big(site: Site) -> bool:
    """Whether making a status of the site takes long enough to want to see it."""
    return Opening.objects.filter(site=site)[BIG:].exists()


def watched(
    *, site: Site, week: Week, form: Format, edition: Edition | None, who: Person, now: datetime
) -> StreamingHttpResponse:
    """The page that makes the status as it is sent."""
    response = StreamingHttpResponse(_page(site, week, form, edition, who, now))
    # Told as already encoded, so that no layer holds the steps back to compress them together.
    response.headers["Content-Encoding"] = "identity"
    response.headers["X-Accel-Buffering"] = "no"
    response.headers["Cache-Control"] = "private, no-store"
    return response


def made_file(token: str, who: Person) -> Path | None:
    """The file a link of the page leads to, for the person it was made for and as long as the link lasts."""
    try:
        told = signing.loads(token, salt=SALT, max_age=LINK_LASTS)
    except signing.BadSignature:
        return None
    path = _root() / told["folder"] / told["name"]
    return path if told["who"] == str(who.pk) and path.is_file() else None


def _page(site: Site, week: Week, form: Format, edition: Edition | None, who: Person, now: datetime) -> Iterator[str]:
    title = escape(f"{gettext('Weekly status')} {week} · {site.name}")
    yield (
        f'<!doctype html><html lang="{get_language()}"><head><meta charset="utf-8"><title>{title}</title>'
        f"<style>{LOOK}</style></head><body><main><h1>{title}</h1>"
        f"<p>{escape(gettext('Being made. Close this page to stop; nothing half-made is left.'))}</p>"
    )
    _sweep(now)
    folder = _root() / secrets.token_hex(8)
    steps = status_steps(site=site, week=week, now=now, folder=folder, formats=[form], edition=edition)
    try:
        while True:
            try:
                done, whole = next(steps)
            except StopIteration as end:
                name = end.value.files[0].name
                break
            said = escape(gettext("%(done)d of %(whole)d openings") % {"done": done, "whole": whole})
            yield f'<p class="step"><progress value="{done}" max="{whole}">{said}</progress> {said}</p>\n'
    except BaseException:
        steps.close()
        shutil.rmtree(folder, ignore_errors=True)
        raise
    token = signing.dumps({"folder": folder.name, "name": name, "who": str(who.pk)}, salt=SALT)
    address = reverse("reports:made", args=[token])
    yield f'<p class="step"><a href="{address}">{escape(name)}</a></p></main></body></html>'


def _root() -> Path:
    return Path(settings.MEDIA_ROOT) / "reports" / "made"


def _sweep(now: datetime) -> None:
    """Remove what was made on the spot and can't be fetched any more."""
    oldest = now.timestamp() - 2 * LINK_LASTS
    for folder in _root().glob("*"):
        if folder.stat().st_mtime < oldest:
            shutil.rmtree(folder, ignore_errors=True)
