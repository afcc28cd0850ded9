"""A big file made while one watches: a page that grows a progress bar and ends in a link.

The page is sent as the work goes on. Closing it, or stopping the load, ends the work where it is, and everything
written so far goes with its scratch folder: nothing half-made is left, and nobody need come back to cancel. What was
finished is kept where all files are, so that another web server can hand it out, and let go after a day.
"""

import secrets
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from html import escape
from pathlib import Path, PurePosixPath

from django.core import signing
from django.core.files.base import File
from django.core.files.storage import default_storage
from django.http import StreamingHttpResponse
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import get_language, gettext

from openings.models import Opening, Site
from sitetrack.access.models import Person
from sitetrack.kit.storage import keep
from sitetrack.reports.steps import Steps

BIG = 2000  # openings from which a status is worth watching
LINK_LASTS = timedelta(hours=1)
SALT = "reports.made"
KEPT_UNDER = "reports/made"
MOST_LET_GO = 1000  # at once


@dataclass(frozen=True, slots=True)
class Watched:
    """What is made: what it is called, how it is made in a folder, and the page to go back to."""

    title: str
    make: Callable[[Path], Steps[Path]]
    back: str


def is_big(site: Site) -> bool:
    """Whether making a status of the site takes long enough to want to see it."""
    return Opening.objects.filter(site=site)[BIG:].exists()


def watched(work: Watched, *, who: Person, now: datetime) -> StreamingHttpResponse:
    """The page that makes a file as it is sent."""
    response = StreamingHttpResponse(_page(work, who, now, _Words()))
    # Told as already encoded, so that no layer holds the steps back to compress them together.
    response.headers["Content-Encoding"] = "identity"
    response.headers["X-Accel-Buffering"] = "no"
    response.headers["Cache-Control"] = "private, no-store"
    return response


def made_file(token: str, who: Person) -> File | None:
    """The file a link of the page leads to, opened; for the person it was made for and as long as the link lasts."""
    try:
        told = signing.loads(token, salt=SALT, max_age=LINK_LASTS)
    except signing.BadSignature:
        return None
    if told["who"] != str(who.pk) or not default_storage.exists(told["stored"]):
        return None
    return default_storage.open(told["stored"])


def forget_made(*, now: datetime) -> None:
    """Let go what was made before yesterday; its links are long closed."""
    try:
        folders, _files = default_storage.listdir(KEPT_UNDER)
    except FileNotFoundError:
        return
    for folder in sorted(folders)[:MOST_LET_GO]:
        if _day_of(folder) < now.date() - timedelta(days=1):
            _folders, names = default_storage.listdir(f"{KEPT_UNDER}/{folder}")
            for name in names:
                default_storage.delete(f"{KEPT_UNDER}/{folder}/{name}")
            default_storage.delete(f"{KEPT_UNDER}/{folder}")


def _day_of(folder: str) -> date:
    try:
        return date.fromisoformat(folder[:10])
    except ValueError:
        return date.min  # of a release that named them otherwise


class _Words:
    """What the page says, in the language of who asked: while it is sent, another may be switched on."""

    def __init__(self) -> None:
        self.language = get_language()
        self.stop = gettext("Being made. Close this page to stop; nothing half-made is left.")
        self.step = gettext("%(done)d of %(whole)d openings")
        self.last = gettext("Being put together.")
        self.ready = gettext("Ready. The link is good for an hour.")
        self.back = gettext("Back to the site")


def _page(work: Watched, who: Person, now: datetime, say: _Words) -> Iterator[str]:
    title = escape(work.title)
    yield (
        f'<!doctype html><html lang="{say.language}"><head><meta charset="utf-8"><title>{title}</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<link rel="stylesheet" href="{escape(static("reports/plain.css"))}"></head><body><main><h1>{title}</h1>'
        f"<p>{escape(say.stop)}</p>"
    )
    forget_made(now=now)
    with tempfile.TemporaryDirectory(prefix="made-") as scratch:
        steps = work.make(Path(scratch))
        try:
            while True:
                try:
                    done, whole = next(steps)
                except StopIteration as end:
                    path = end.value
                    break
                said = escape(say.step % {"done": done, "whole": whole} if done < whole else say.last)
                yield f'<p class="step"><progress value="{done}" max="{whole}">{said}</progress> {said}</p>\n'
        finally:
            steps.close()
        stored = f"{KEPT_UNDER}/{now.date()}-{secrets.token_hex(8)}/{path.name}"
        with path.open("rb") as file:
            keep(stored, file)
    token = signing.dumps({"stored": stored, "who": str(who.pk)}, salt=SALT)
    address = reverse("reports:made", args=[token])
    yield (
        f'<p class="step"><a href="{address}">{escape(PurePosixPath(stored).name)}</a><br>{escape(say.ready)}</p>'
        f'<p class="back"><a href="{escape(work.back)}">{escape(say.back)}</a></p></main></body></html>'
    )
