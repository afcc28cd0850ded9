"""Pages that keep themselves fresh: asked again every so often, and drawn again only if something changed.

    @require_safe
    @site_page
    @live_page
    def today(request: HttpRequest, desk: Desk) -> HttpResponse: ...

A page drawn by such a view carries a validator: the digest of the site's row with its change number, of the person's
standing, the language, the address and the hour. `live.js` asks the same address again with it (RFC 9110,
If-None-Match); while nothing changed the answer is 304 and nothing is read besides who asks. The hour is in it because
ages in days are shown; so a page is at most an hour behind the calendar.

What a live page shows must therefore take a number of the site when it is written (`next_numbers`), even where no
phone pulls it. A page that shows something without such numbers says so: `live_page(also=...)` adds what it returns.

Only the script's own question is answered with 304. A person who opens or reloads a page always gets it drawn, with
what there is to tell.
"""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.translation import get_language

from sitetrack.desk.sheets import Desk

LiveView = Callable[..., HttpResponse]


@dataclass(frozen=True, slots=True)
class Live:
    """What a live page knows of itself: its validator, when it was drawn, and whether the script asked for it."""

    validator: str
    at: datetime
    asked_by_script: bool


def live_page(view: LiveView | None = None, *, also: Callable[[Desk], Any] | None = None) -> Any:
    """Make a site's page keep itself fresh; put it under `site_page`."""
    if view is None:
        return lambda inner: live_page(inner, also=also)

    @wraps(view)
    def wrapped(request: HttpRequest, desk: Desk, **arguments: Any) -> HttpResponse:
        if request.method not in {"GET", "HEAD"}:
            return view(request, desk, **arguments)
        validator = validator_of(request, desk, also(desk) if also else None)
        by_script = request.headers.get("HX-Request") == "true"
        if by_script and request.headers.get("If-None-Match") == validator:
            answer = HttpResponse(status=304)
        else:
            request.live = Live(validator, desk.now, by_script)  # type: ignore[attr-defined]
            answer = view(request, desk, **arguments)
        # The script's question is told apart from a person's by a header, so no cache may keep either for the other.
        answer.headers["Cache-Control"] = "private, no-store"
        if by_script and answer.status_code in {200, 304}:
            answer.headers["ETag"] = validator
        return answer

    return wrapped


def validator_of(request: HttpRequest, desk: Desk, also: Any) -> str:
    """What must be the same for the page to be the same. Reads nothing that was not read already."""
    local = desk.now.astimezone(desk.site.zone)
    parts = (
        _row(desk.site), _row(desk.membership), str(desk.person), get_language(), request.get_full_path(),
        f"{local:%Y-%m-%d %H}", also,
    )  # fmt: skip
    return f'W/"{hashlib.sha256(repr(parts).encode()).hexdigest()[:24]}"'


def _row(row: Any) -> list[tuple[str, str]]:
    return sorted((name, str(value)) for name, value in vars(row).items() if not name.startswith("_"))
