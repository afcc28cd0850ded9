"""The walk from one opening to the next, within what the floor was narrowed to when one left it.

What it was narrowed to rides along in the address as one parameter, so that it meets none of the opening's own.
"""

from dataclasses import dataclass
from urllib.parse import urlencode

from django.http import QueryDict

from inspections.selectors.floors import openings_of_floor
from inspections.selectors.opening_record import neighbours
from inspections.selectors.stages import site_stages
from openings.models import Opening
from sitetrack.desk.floor_filters import FloorFilter
from sitetrack.desk.sheets import Desk
from sitetrack.desk.words import spoken

AMONG = "among"
LONGEST = 400
# The order is always the walk's; the page and the form it was looked at in say nothing of which openings are meant.
NARROWING = ("trade", "stage", "state", "rating", "trouble", "rule", "find")


@dataclass(frozen=True, slots=True)
class Walk:
    """Numbers before and after, empty at the ends.

    `suffix` goes behind the address of an opening, `floor` behind that of its floor.
    """

    before: str
    after: str
    narrowed: bool
    suffix: str
    floor: str


def walk_suffix(asked: QueryDict) -> str:
    """What goes behind the addresses of openings shown on a floor that was narrowed by `asked`."""
    return _suffix(_narrowing(asked))


def walk_from(desk: Desk, opening: Opening, asked: QueryDict) -> Walk:
    """The walk as the opening's address asks for it: two queries, one more where it names a stage."""
    given = asked.get(AMONG, "")
    narrowing = _narrowing(QueryDict(given)) if len(given) <= LONGEST else {}
    walked = openings_of_floor(opening.floor, desk.person)
    if narrowing:
        stages = site_stages(desk.site, desk.person).items() if "stage" in narrowing else ()
        chosen = QueryDict(urlencode(narrowing))
        walked = FloorFilter(chosen, stages=[(code, spoken(words.title)) for code, words in stages], queryset=walked).qs
    before, after = neighbours(opening, walked)
    floor = f"?{urlencode(narrowing)}" if narrowing else ""
    return Walk(before, after, bool(narrowing), _suffix(narrowing), floor)


def _narrowing(asked: QueryDict) -> dict[str, str]:
    return {name: str(asked[name]) for name in NARROWING if asked.get(name)}


def _suffix(narrowing: dict[str, str]) -> str:
    return f"?{urlencode({AMONG: urlencode(narrowing)})}" if narrowing else ""
