"""How the desk's tests look at a page."""

import re
from html import unescape
from typing import Any
from urllib.parse import quote

from django.test import Client

from openings.models import Opening, Site


def signed_in(who: Any) -> Client:
    client = Client()
    client.force_login(who)
    return client


def pages_of(job: Site, opening: Opening) -> list[str]:
    return [
        f"/s/{job.code}/today",
        f"/s/{job.code}/floors/{opening.floor_id}",
        f"/s/{job.code}/floors/{opening.floor_id}?as=list",
        f"/s/{job.code}/openings/{quote(opening.number)}",
        f"/s/{job.code}/alerts",
        f"/s/{job.code}/alerts?show=muted",
        f"/s/{job.code}/alerts?show=closed",
        f"/s/{job.code}/alerts/mutes",
        f"/s/{job.code}/alerts/mail",
        f"/s/{job.code}/weekly",
        f"/s/{job.code}/find?number=zzz",
        f"/s/{job.code}/readings",
        f"/s/{job.code}/openings/{quote(opening.number)}/readings",
        f"/s/{job.code}/openings/{quote(opening.number)}/takeoff",
        f"/s/{job.code}/kit",
        f"/s/{job.code}/kit?floor={opening.floor_id}",
        f"/s/{job.code}/drift",
        f"/s/{job.code}/progress",
        f"/s/{job.code}/tolerances",
    ]


def words(answer: Any) -> str:
    """The page's text without its markup, spaces run together."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def press_undo(client: Client, done: Any) -> None:
    """Follow an answer to the page that tells what was done, and press the Undo beside it."""
    page = client.get(done["Location"]).content.decode()
    *_earlier, form = re.findall(
        r'<li class="told">.*?<form method="post" action="([^"]+)">(.*?)</form>', page, re.DOTALL
    )
    hidden = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', form[1])
    answer = client.post(unescape(form[0]), {name: unescape(value) for name, value in hidden})
    assert answer.status_code == 302, answer.content
