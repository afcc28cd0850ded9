"""The links of a floor's drawing, one for each opening, written here and not in a template.

A floor has hundreds; a template engine would spend more on walking its own nodes than on the page.
"""

from collections.abc import Callable, Mapping
from urllib.parse import quote

from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from inspections.selectors.floors import FloorOpening
from inspections.selectors.stages import StageWords
from openings.models import Site
from sitetrack.desk.frame_mark import FrameLook, frame_mark
from sitetrack.desk.legend import standing_words
from sitetrack.kit.floor_drawing import Placed

Drawn = tuple[FloorOpening, FrameLook]
Stages = Mapping[str, StageWords]


def addresses(site: Site, suffix: str = "") -> Callable[[str], str]:
    """What gives an opening's address from its number, without asking the router each time; `suffix` goes behind."""
    base = reverse("desk:opening", kwargs={"code": site.code, "number": "0"}).removesuffix("0")
    return lambda number: base + quote(number, safe="/") + suffix


def standing_mark(drawn: Drawn, address: str, stages: Stages) -> SafeString:
    """An opening of an elevation: its mark on the floor line, its number under it."""
    opening, _ = drawn
    return format_html(
        '<li><a href="{}">{}<span class="elevation-number">{}</span></a></li>',
        address,
        _mark(drawn, stages),
        opening.number,
    )


def placed_mark(place: Placed[Drawn], address: str, stages: Stages) -> SafeString:
    """An opening of a plan: its mark and number where it stands."""
    return format_html(
        '<a href="{}" transform="translate({} {})"><rect class="plan-spot" width="48" height="74"/>{}'
        '<text class="plan-number" x="24" y="71" text-anchor="middle">{}</text></a>',
        address,
        str(place.x),  # as text, so that no locale puts a comma in it
        str(place.y),
        _mark(place.what, stages),
        place.what[0].number,
    )


def _mark(drawn: Drawn, stages: Stages) -> SafeString:
    opening, look = drawn
    return mark_safe(frame_mark(look, label=standing_words(opening, stages)))  # noqa: S308 - the mark escapes its label
